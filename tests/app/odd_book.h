/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A book of all that a record may hold, with names and texts that are hard on CSV. */
#ifndef BE_ODD_BOOK_H
#define BE_ODD_BOOK_H

#include "app_test.h"

#define ODD_TRACE(top) "load (N)\n0.1\n0.2\n20\n40\n60\n" top "\n3\n0.3\n0.1\n"

static inline void odd_enter(const char *book, const char *path, const struct be_entering *how)
{
  struct be_doc *doc = NULL;
  struct be_err err = {0};
  const char *const paths[] = {path};
  enum be_status status = be_app_enter(book, paths, 1, how, &doc, &err);
  if (status != BE_OK) print_error("%s line %zu: %s\n", err.file, err.line, err.what);
  assert_int_equal(status, BE_OK);
  be_doc_free(doc);
}

static inline void odd_sheet(const char *book, const char *name, const char *text,
                             const struct be_entering *how)
{
  const struct be_entering usual = {0};
  char path[512];
  test_path(path, name);
  test_write(path, text);
  odd_enter(book, path, how ? how : &usual);
}

static inline void odd_first(const char *book)
{
  odd_sheet(
      book, "odd-lines.csv",
      "line,spool,material,label,diameter (mm),lot,on hand (m),counted\n"
      "\"nylon, \"\"clear\"\" 12 lb\",s1,nylon,12 lb,0.333,\"lot 7, box\n2\",41.5,2026-03-01\n"
      "πετονιά 6 kg,Σ1,nylon,6 kg,,,none,\n"
      "braid 20 lb,b;9,braid,,,,,\n",
      NULL);
  const struct be_entering comma = {.decimal = ','};
  odd_sheet(book, "odd-comma.csv", "line;spool;material;label\nstarkes Nylon;d1;nylon;1,250 kg\n",
            &comma);
  odd_sheet(book, "odd-knots.csv",
            "knot,version,kind,turns,doubled,aliases,crossings A,crossings B,overlap (mm),tie\n"
            "Nœud de πέρκα,\"as \"\"drawn\"\"\",hitch,5.5,none,\"perch, perca\",4,none,13.7,"
            "\"clinch turns=5\nseat=badly\"\n"
            "palomar,,hitch,,yes,,,,,\n",
            NULL);
  odd_sheet(book, "palomar.svg",
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"7\" height=\"9\"></svg>\n", NULL);
  odd_sheet(book, "odd-benches.csv",
            "bench,calibration,resolution (N),drift,peak missed,certificate\n"
            "shed,0.7 %,0.3,none,1.3 %,\"K-1, copy\"\n",
            NULL);
  odd_sheet(book, "odd-calibration.csv",
            "bench,calibration,date,months,load applied (kg),reading (mV),reference,curve\n"
            "shed,winter,2026-01-15,12,none,0.12,0.05 %,straight\n"
            "shed,winter,,,10,4.31,,\nshed,winter,,,20,8.49,,\n",
            NULL);
  odd_sheet(book, "odd-weights.csv",
            "bench,when,weight,reading (kg),note\n"
            "shed,2026-03-01 18:30,5 kg,5.003,\"after, \"\"wet\"\"\"\n",
            NULL);
  odd_sheet(book, "odd-rules.csv",
            "trial,rule,value,reason\nfrost,question,\"Which, when wet?\",\n"
            "frost,parts at a grip,void,\n",
            NULL);
  odd_sheet(book, "odd-trial.csv",
            "trial,specimen,order,block,knot,turns,version,line A,spool A,soak,free length (mm)\n"
            "frost,F1,1,1,palomar,,,braid 20 lb,b;9,120 min,333.3\n"
            "frost,F2,2,1,none,,,braid 20 lb,b;9,dry,\n",
            NULL);
}

static inline void odd_pulls(const char *book)
{
  const struct be_entering mapped = {.mapping = "line A = string\nignore = page\nload (lb) = load",
                                     .save_as = "notebook"};
  const struct be_entering comma = {.decimal = ','};
  char path[512];
  test_path(path, "odd-K1.csv");
  test_write(path, ODD_TRACE("71.7"));
  odd_sheet(book, "odd-pulls.csv",
            "specimen,knot,version,turns,line A,spool A,load (lb),what,where,which,result,reason,"
            "trace,photo,note,bench,calibration,zero before (N),soak,speed (mm/min),session,order\n"
            "\"K,1\",perca,\"as \"\"drawn\"\"\",5.5,,s1,16.11,broke,in the knot,line A,,,"
            "odd-K1.csv,a.jpg;b.jpg,\"first\nsecond\",shed,winter,-0.7,dry,501,2026-03-01,1\n"
            "K2,palomar,,,πετονιά 6 kg,Σ1,11.9,broke,grip,,,,,none,,shed,,,,,,2\n"
            "K3,none,,,,s1,17.3,broke,clear of it,,void,\"cut, by hand\",,,,,,,dry,,,3\n"
            "K4,none,,,,s1,18.7,broke,clear of it,,,,,,,,,,dry,501,,4\n"
            "K5,none,,,,s1,18.1,broke,clear of it,,,,,,,,,,dry,501,,5\n",
            NULL);
  odd_sheet(book, "odd-kg.csv",
            "specimen;knot;knot B;version B;turns B;line A;spool A;load (kg);what;where;which\n"
            "D1;palomar;perch;\"as \"\"drawn\"\"\";5,5;;s1;7,1;broke;in the knot;knot B\n",
            &comma);
  odd_sheet(book, "odd-page.csv", "string,load,page,specimen,knot\nbraid 20 lb,17.7,3,N1,palomar\n",
            &mapped);
  odd_sheet(book, "odd-frost.csv",
            "specimen,load (lb),what,where\nF1,12.3,broke,grip\nF2,19.1,broke,clear of it\n", NULL);
  odd_sheet(book, "odd-first-mend.csv",
            "specimen,correction,load (lb),what,where\n"
            "K2,\"read wrongly, \"\"1\"\" for 7\",17.9,broke,in the knot\n",
            NULL);
  odd_sheet(book, "odd-mend.csv",
            "specimen,correction,load (lb),what,where,judged by\n"
            "K2,again,17.1,broke,at its entry,J.\nK4,nothing seen,18.7,broke,not seen,\n",
            NULL);
  odd_sheet(book, "odd-evidence.csv", "specimen,photo,clip,note\nK2,c.jpg,k.mp4,late\n", NULL);
  odd_sheet(book, "odd-more-rules.csv",
            "trial,rule,value,reason\nfrost,parts at a grip,lower bound,\"wind, ice\"\n", NULL);
  odd_sheet(book, "odd-count.csv",
            "line,spool,material,on hand (m)\n\"nylon, \"\"clear\"\" 12 lb\",s1,nylon,12.345678\n",
            NULL);
  odd_sheet(book, "odd-\xe9.csv", "specimen,knot,spool A,load (kg)\nE1,palomar,Σ1,5.5\n", NULL);
  odd_sheet(book, " odd, \"name\" \n.csv ", "specimen,knot,spool A,load (kg)\nE2,palomar,Σ1,5.7\n",
            NULL);
  const struct be_entering of_n1 = {.specimen = "N1"};
  odd_sheet(book, "odd-late.csv", ODD_TRACE("78.9"), &of_n1);
}

static inline void odd_book(char book[512], const char *name)
{
  test_path(book, name);
  be_file_remove(book, NULL);
  assert_int_equal(be_book_create(book, NULL), BE_OK);
  odd_first(book);
  odd_pulls(book);
}

/* ---- packages ---- */

static inline void odd_path(char path[512], const char *folder, const char *name)
{
  snprintf(path, 512, "%.400s/%.100s", folder, name);
}

static inline enum be_status pack_as(const char *book, const char *path, struct be_err *err)
{
  const struct be_publishing asked = {.package_path = path, .authors = "A. N. Other; \"Quoted\" O"};
  const struct be_answering how = {.resamples = 50};
  struct be_doc *doc = NULL;
  enum be_status status = be_app_publish(book, &asked, &how, &doc, err);
  be_doc_free(doc);
  return status;
}

static inline void pack(const char *book, const char *path)
{
  struct be_err err = {0};
  enum be_status status = pack_as(book, path, &err);
  if (status != BE_OK) print_error("%s: %s\n", err.file, err.what);
  assert_int_equal(status, BE_OK);
}

/* Into a new book. */
static inline enum be_status unpack_as(const char *path, char book[512], const char *name,
                                       struct be_err *err)
{
  const struct be_entering how = {0};
  struct be_doc *doc = NULL;
  const char *const paths[] = {path};
  test_path(book, name);
  be_file_remove(book, NULL);
  assert_int_equal(be_book_create(book, NULL), BE_OK);
  enum be_status status = be_app_enter(book, paths, 1, &how, &doc, err);
  if (status == BE_OK) be_doc_free(doc);
  return status;
}

static inline void unpack(const char *path, char book[512], const char *name)
{
  struct be_err err = {0};
  enum be_status status = unpack_as(path, book, name, &err);
  if (status != BE_OK) print_error("%s line %zu: %s\n", err.file, err.line, err.what);
  assert_int_equal(status, BE_OK);
}

static inline void read_whole(const char *path, struct be_buf *bytes)
{
  be_buf_init(bytes, 64 * 1024 * 1024);
  if (be_file_read(path, bytes, NULL) != BE_OK) fail_msg("cannot read %s", path);
}

static inline void same_bytes(const char *a, const char *b)
{
  struct be_buf x, y;
  read_whole(a, &x);
  read_whole(b, &y);
  if (x.size != y.size || memcmp(x.data, y.data, x.size) != 0) fail_msg("%s is not %s", a, b);
  be_buf_free(&x);
  be_buf_free(&y);
}

#endif
