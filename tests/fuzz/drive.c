/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drives a fuzz target without a fuzzer: the seeds, then seeded mutations of
 * them. Under sanitizers a fault ends the program, which fails the test. What a
 * fuzzer found is added to the seeds. */
#include "base/base.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

enum { ROUNDS = 4000, INPUT_MAX = 4096 };

static const char *const seeds[] = {
    "Time (s),Load (N)\n0,0.1\n0.02,5.5\n0.04,11\n0.06,0.2\n0.08,0.1\n",
    "t;Kraft [N];Weg [mm]\n0,0;0,1;0\n0,1;12,5;1,0\n0,2;-0,3;1,1\n",
    "a banner\nkey,\"value, quoted\",(mm)\n\nLoad,Time\n(N),(s)\n\"1.5\",\"0\"\n\"2.5\",\"1\"\n",
    "Posi\xE7\xE3o (mm)\tFor\xE7"
    "a (N)\t\t\n0\t12,41\t\t\n0,1\t258,572\t\t\n0,2\t-1,1\t\t\n",
    "\xEF\xBB\xBF"
    "Cycle 1\n,N,mm,s\n,1e-3,5,0\n,OL,6,1\n,nan,7,2\n,3,8,3\n",
    "1\n2\n3\n2\n1\n0\n",
    "specimen,knot,line A,load (lb),what,where\na1,uni,nylon 12 lb,12.5,B,K\n",
    "specimen;knot;line A;load;soak\na1;none;\"nylon; 12 lb\";\"1.234,5 N\";120 min\n",
    "line,spool,material,label,diameter (mm)\nnylon 12 lb,S1,nylon,12 lb,\"0,33\"\n",
    "line,spool,on hand (m),counted\nnylon,S1,41.5,May\nnylon,S1,38 m,\n",
    "knot,crossings A,crossings B,overlap (mm)\nuni,7,none,\"13,5\"\n",
    "trial,rule,value,reason\nw,seed,41,\nw,level,0.9,\nw,level,95 %,odd\nw,slips out,void,\n",
    "trial,specimen,order,block,knot,knot "
    "B,line,spool\nw,A,1,1,uni,bow,nylon,S1\nw,B,2,,none,,x,\n",
    "specimen,load (N),what,where\nA,7.5,B,G\nB,9.5,S,\n",
    "a,b,c\nuni,\"14,5\",x\n# not a remark,1,2\n\"open",
    "ST,GS,+0001.234,kg\r\nUS,NT,- 17.5lb\r\nOL,GS,+9999999,kg\r\n",
    "\x02 12.34LG\x03q\x02 ^^^^^ O\r\n 3,5-\r\n17,OL\n-----\n",
    "#14A!p\xA4\n+1.5E+01,2\n\x01\x03\x04"
    "A!p\xA4\x0F!9.9E37\n",
    "{\"do\":\"choose\",\"step\":41,\"line A\":\"nylon \\u00e9\\ud83d\\ude00\\n\",\"\":\"\"}",
    "[{\"step\":1e5},null,true,\"\\u0000\"]",
    "/versus?a=%31&b=&q=braid+20%20lb\nHost: localhost:8765\nCookie: x=1; key=ab\nOrigin: "
    "http://localhost:8765\nContent-Length: 17\n\nload=7%2C5&note=+a",
    "/%C3%A9/..x?\nHost: bench.local\nSec-Fetch-Site: same-origin\nVia: 1.1 x\n"
    "Transfer-Encoding: chunked\n\n&&a=b=c&%6E",
    "bitterend devices 1\n0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef bench "
    "1764100000 1764100777 tablet by the guard\n",
    "tie a knot\nset turns 2 from 1 to 9\nring R round 3,0 facing z radius 3\nline A\n-9,2 -2,2\n"
    "coil turns right along -2,0 to -2-1.2*turns,0 at 1.05\n-9,1\nline B A turned about x\n",
    "tie x\nline A -9,0 doubled -6,0 ou 4,0 6,3 o 2,6 0,3 -1,-3 2,-4 3,-1 3,2 3,9 tip 2,12 4,12 "
    "end\n-9,-3 repeat 3 i,-(9+i) end line C A mirrored at 0,40\npulled A first",
    "turns=3 hand=left\nline B -9,20 9,20 when hand left line C B beside thick 0.5 else 9,25 end",
    "# x y z\n0 0 0.6\n1,0.5;-.6\n\nline B closed diameter 0.75\n0 0 1\n3e0 0 1\n0 2\t1\n",
    "F={force 6.2}{unit K=kg}{status? S=steady};{skip 2}#{count}\nF= 1250 KS;ab#7\n",
};
enum { SEEDS = sizeof seeds / sizeof seeds[0] };

static size_t mutate(struct be_random *random, uint8_t *bytes, size_t size)
{
  static const char *const pieces[] = {",",        ";",    "\t",  "\n",    "\r\n",       "\"",
                                       "-",        "e",    ".",   "1e308", "nan",        "OL",
                                       "\xFF\xFE", "\xC3", "(N)", "=",     "99999999999"};
  for (uint64_t edits = 1 + be_random_below(random, 6); edits > 0; edits--) {
    size_t at = size ? (size_t)be_random_below(random, size) : 0;
    const char *piece = pieces[be_random_below(random, sizeof pieces / sizeof pieces[0])];
    size_t length = strlen(piece);
    switch (be_random_below(random, 4)) {
    case 0:
      if (size) bytes[at] = (uint8_t)be_random_u64(random);
      break;
    case 1:
      if (size + length > INPUT_MAX) break;
      memmove(bytes + at + length, bytes + at, size - at);
      memcpy(bytes + at, piece, length);
      size += length;
      break;
    case 2: size = at; break;
    default:
      if (size + (size - at) > INPUT_MAX) break;
      memmove(bytes + size, bytes + at, size - at);
      size += size - at;
    }
  }
  return size;
}

int main(void)
{
  static uint8_t bytes[INPUT_MAX];
  struct be_random random;
  size_t longest = 0;
  be_random_init(&random, 20260501, 0);
  for (int i = 0; i < SEEDS; i++)
    LLVMFuzzerTestOneInput((const uint8_t *)seeds[i], strlen(seeds[i]));
  printf("ok 1 - every seed\n");
  for (int i = 0; i < ROUNDS; i++) {
    size_t size = strlen(seeds[i % SEEDS]);
    memcpy(bytes, seeds[i % SEEDS], size);
    size = mutate(&random, bytes, size);
    /* A block of its own, so that a read past the end is seen. */
    uint8_t *exact = malloc(size + !size);
    if (!exact) return 1;
    memcpy(exact, bytes, size);
    LLVMFuzzerTestOneInput(exact, size);
    free(exact);
    if (size > longest) longest = size;
  }
  printf("%s 2 - %d mutations, up to %zu bytes\n1..2\n", longest > 400 ? "ok" : "not ok", ROUNDS,
         longest);
  return longest > 400 ? 0 : 1;
}
