/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _POSIX_C_SOURCE 200809L
#include "clips_test.h"

#include "app/clips/clips.h"
#include "app/clips/overlay.h"
#include "app/clips/reveal.h"

#include <signal.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static char book[512];

static enum be_status publish(const struct be_publishing *asked, struct be_doc **doc,
                              struct be_err *err)
{
  const struct be_answering how = {0};
  *err = (struct be_err){0};
  *doc = NULL;
  return be_app_publish(book, asked, &how, doc, err);
}

static void refuses(struct be_publishing asked, enum be_status want, const char *words)
{
  struct be_doc *doc = NULL;
  struct be_err err;
  enum be_status status = publish(&asked, &doc, &err);
  be_doc_free(doc);
  if (status != want || !strstr(err.what, words)) fail_msg("%d: %s", status, err.what);
}

static void remove_pictures(const char *folder)
{
  char path[600];
  for (int i = 0; i < 200; i++) {
    snprintf(path, sizeof path, "%s/%05d.png", folder, i);
    be_file_remove(path, NULL);
  }
  snprintf(path, sizeof path, "%s/frames.txt", folder);
  be_file_remove(path, NULL);
  snprintf(path, sizeof path, "%s/begun.journal", folder);
  be_file_remove(path, NULL);
}

static size_t count_pictures(const char *folder)
{
  char path[600];
  size_t count = 0;
  for (int i = 0; i < 400; i++) {
    snprintf(path, sizeof path, "%s/%05d.png", folder, i);
    count += be_file_size(path) > 0;
  }
  return count;
}

static void assert_same_file(const char *a, const char *b)
{
  struct be_buf first, second;
  be_buf_init(&first, 1 << 28);
  be_buf_init(&second, 1 << 28);
  assert_int_equal(be_file_read(a, &first, NULL), BE_OK);
  assert_int_equal(be_file_read(b, &second, NULL), BE_OK);
  assert_int_equal(first.size, second.size);
  assert_memory_equal(first.data, second.data, first.size);
  be_buf_free(&first);
  be_buf_free(&second);
}

static void a_book_is_made(void **state)
{
  (void)state;
  clips_book(book);
}

/* ---- what is shown ---- */

static struct be_arena *make_overlay(struct overlay *overlay, int width, int height)
{
  struct survey survey;
  struct be_err err = {0};
  struct be_arena *arena = be_arena_create();
  struct be_doc *doc = be_doc_create("t", "t");
  const struct be_answering how = {0};
  assert_int_equal(be_survey_read(book, &how, arena, &survey, &err), BE_OK);
  if (be_overlay_make(&survey, "q7", width, height, doc, overlay, &err) != BE_OK)
    fail_msg("%s", err.what);
  be_doc_free(doc);
  return arena;
}

static void the_overlay_keeps_the_time_of_the_trace(void **state)
{
  struct overlay overlay;
  struct be_arena *arena = make_overlay(&overlay, 1920, 1080);
  (void)state;
  assert_string_equal(overlay.code, "Q7");
  assert_string_equal(overlay.knot, "palomar");
  assert_non_null(strstr(overlay.lines, "nylon 12 lb"));
  assert_string_equal(overlay.let_go, "broke, in the knot");
  assert_near(overlay.rises_s, 1, 0);
  assert_near(overlay.breaks_s - overlay.rises_s, 3, 0.05);
  assert_near(overlay.lasts_s, overlay.breaks_s + 2, 1e-12);
  assert_near(overlay.peak_N, 59.95, 1e-9);
  /* Half a second after the rise, by the ramp itself. */
  double rise = overlay.breaks_s - 3;
  assert_near(be_overlay_load(&overlay, rise + 1.234), 24.68, 0.05);
  assert_near(be_overlay_load(&overlay, -99), NAN, 0);
  assert_near(be_overlay_load(&overlay, overlay.lasts_s + 99), NAN, 0);
  assert_true(overlay.dots_count <= 4 * ((size_t)overlay.shape.plot.wide + 3));
  be_arena_free(arena);
}

static void all_lies_inside_the_margin(void **state)
{
  static const int sizes[][2] = {
      {1920, 1080}, {1080, 1920}, {640, 360}, {1080, 1080}, {3840, 2160}};
  (void)state;
  for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
    int width = sizes[i][0], height = sizes[i][1];
    struct overlay overlay;
    struct be_arena *arena = make_overlay(&overlay, width, height);
    const struct overlay_shape *s = &overlay.shape;
    assert_true(s->unit >= height / 30.0);
    for (size_t k = 0; k < s->plates_count; k++) {
      const struct box *plate = &s->plates[k];
      assert_true(plate->x >= 0.05 * width - 0.01 && plate->y >= 0.05 * height - 0.01);
      assert_true(plate->x + plate->wide <= 0.95 * width + 0.01);
      assert_true(plate->y + plate->high <= 0.95 * height + 0.01);
    }
    assert_true(s->plot.high > 2 * s->unit && s->plot.wide > 5 * s->unit);
    be_arena_free(arena);
  }
}

static void a_reveal_has_every_row_with_n_and_interval(void **state)
{
  struct survey survey;
  struct reveal reveal;
  struct be_err err = {0};
  struct be_arena *arena = be_arena_create();
  struct be_doc *doc = be_doc_create("t", "t");
  const struct be_answering how = {0};
  (void)state;
  assert_int_equal(be_survey_read(book, &how, arena, &survey, &err), BE_OK);
  assert_int_equal(be_reveal_make(&survey, "nylon 12", 1920, 1080, doc, &reveal, &err), BE_OK);
  assert_int_equal(reveal.count, 2);
  assert_string_equal(reveal.rows[0].name, "palomar");
  assert_string_equal(reveal.rows[0].n, "n = 3");
  assert_non_null(strstr(reveal.rows[0].interval, "["));
  assert_non_null(strstr(reveal.rows[1].value, "%"));
  assert_true(reveal.lasts_s > 3);
  assert_int_equal(be_reveal_make(&survey, "copper", 1920, 1080, doc, &reveal, &err), BE_WRONG_USE);
  assert_int_equal(be_reveal_make(&survey, "standings", 1080, 1920, doc, &reveal, &err), BE_OK);
  be_doc_free(doc);
  be_arena_free(arena);
}

/* ---- what is written ---- */

static void look_up(char *said, size_t size, const char *format, ...) BE_PRINTF(3, 4);
static void look_up(char *said, size_t size, const char *format, ...)
{
  char whole[1500];
  va_list list;
  va_start(list, format);
  vsnprintf(whole, sizeof whole, format, list);
  va_end(list);
  FILE *pipe = popen(whole, "r");
  assert_non_null(pipe);
  size_t got = fread(said, 1, size - 1, pipe);
  said[got] = '\0';
  assert_int_equal(pclose(pipe), 0);
}

#define PROBE                                                                                      \
  "ffprobe -v error -count_frames -select_streams v -show_entries "                                \
  "stream=codec_name,width,height,pix_fmt,avg_frame_rate,duration,nb_read_frames -of csv=p=0 '%s'"

static void clips_are_what_was_asked_for(void **state)
{
  char path[512], said[400];
  struct be_doc *doc = NULL;
  struct be_err err;
  (void)state;
  test_path(path, "load.mov");
  be_file_remove(path, NULL);
  struct be_publishing asked = {.overlay = "Q7", .clip_path = path, .clip_rate = "25"};
  if (publish(&asked, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  assert_true(says(doc, "The load of Q7"));
  be_doc_free(doc);
  /* 1 s, 3 s and 2 s, and a row of the trace at most. */
  look_up(said, sizeof said, PROBE, path);
  assert_non_null(strstr(said, "qtrle,1920,1080,argb,25/1,"));
  int frames = atoi(strrchr(said, ',') + 1);
  assert_true(frames >= 149 && frames <= 152);
  double lasts = atof(strstr(said, "25/1,") + 5);
  assert_near(lasts, frames / 25.0, 1e-6);
  test_path(path, "standings.mp4");
  be_file_remove(path, NULL);
  asked = (struct be_publishing){.reveal = "standings", .clip_path = path, .size = "tall"};
  if (publish(&asked, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  be_doc_free(doc);
  look_up(said, sizeof said, PROBE, path);
  assert_non_null(strstr(said, "h264,1080,1920,yuv420p,30/1,"));
  /* A second run replaces what is ours. */
  if (publish(&asked, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  be_doc_free(doc);
}

static void what_is_not_ours_stays(void **state)
{
  char path[512], folder[512], picture[600];
  (void)state;
  test_path(path, "theirs.mov");
  test_write(path, "somebody's clip\n");
  refuses((struct be_publishing){.overlay = "Q7", .clip_path = path}, BE_WRONG_USE, "no clip of");
  test_path(folder, "theirs");
  assert_int_equal(be_dir_create(folder, NULL), BE_OK);
  snprintf(picture, sizeof picture, "%s/00000.png", folder);
  test_write(picture, "their picture");
  snprintf(path, sizeof path, "%.500s/", folder);
  refuses((struct be_publishing){.overlay = "Q7", .clip_path = path}, BE_WRONG_USE, "not of this");
  assert_int_equal(be_file_size(picture), 13);
  /* Also numbered from 1, and a list of their own. */
  assert_int_equal(be_file_remove(picture, NULL), BE_OK);
  snprintf(picture, sizeof picture, "%s/00001.png", folder);
  test_write(picture, "their picture");
  refuses((struct be_publishing){.overlay = "Q7", .clip_path = path}, BE_WRONG_USE, "not of this");
  assert_int_equal(be_file_size(picture), 13);
  assert_int_equal(be_file_remove(picture, NULL), BE_OK);
  snprintf(picture, sizeof picture, "%s/frames.txt", folder);
  test_write(picture, "their list");
  refuses((struct be_publishing){.overlay = "Q7", .clip_path = path}, BE_WRONG_USE, "not of this");
  assert_int_equal(be_file_size(picture), 10);
}

/* FILE.part, which is where segments lie. */
static void a_part_that_is_not_ours_stays(void **state)
{
  char path[512], part[520], inside[600];
  (void)state;
  test_path(path, "parted.mov");
  snprintf(part, sizeof part, "%s.part", path);
  snprintf(inside, sizeof inside, "%s/00000.segment", part);
  be_file_remove(inside, NULL);
  be_dir_remove(part, NULL);
  assert_int_equal(be_dir_create(part, NULL), BE_OK);
  test_write(inside, "their segment");
  refuses((struct be_publishing){.overlay = "Q7", .clip_path = path}, BE_WRONG_USE, "not of this");
  assert_int_equal(be_file_size(inside), 13);
  assert_int_equal(be_file_remove(inside, NULL), BE_OK);
  assert_int_equal(be_dir_remove(part, NULL), BE_OK);
  test_write(part, "their download");
  refuses((struct be_publishing){.overlay = "Q7", .clip_path = path}, BE_WRONG_USE, "a file where");
  assert_int_equal(be_file_size(part), 14);
  assert_int_equal(be_file_remove(part, NULL), BE_OK);
}

static void wrong_use_is_told(void **state)
{
  char path[512], footage[512];
  (void)state;
  test_path(path, "wrong.mov");
  test_path(footage, "no-footage.mp4");
  test_write(footage, "no film");
#define ASK(...) (struct be_publishing){__VA_ARGS__}
  refuses(ASK(.overlay = "Q7"), BE_WRONG_USE, "--to");
  refuses(ASK(.clip_path = path), BE_WRONG_USE, "belong to");
  refuses(ASK(.overlay = "Q7", .reveal = "standings", .clip_path = path), BE_WRONG_USE, "one clip");
  refuses(ASK(.overlay = "X99", .clip_path = path), BE_WRONG_USE, "X99");
  refuses(ASK(.overlay = "Q8", .clip_path = path), BE_BAD_INPUT, "no trace");
  refuses(ASK(.overlay = "Q7", .clip_path = "x.avi"), BE_WRONG_USE, "x.avi");
  refuses(ASK(.overlay = "Q7", .clip_path = path, .clip_coding = "vp9"), BE_WRONG_USE, ".webm");
  refuses(ASK(.overlay = "Q7", .clip_path = path, .clip_coding = "gif"), BE_WRONG_USE, "gif");
  refuses(ASK(.overlay = "Q7", .clip_path = path, .clip_rate = "17"), BE_WRONG_USE, "17");
  refuses(ASK(.overlay = "Q7", .clip_path = path, .size = "round"), BE_WRONG_USE, "round");
  refuses(ASK(.reveal = "standings", .clip_path = path, .footage_path = footage), BE_WRONG_USE,
          "--overlay");
  refuses(ASK(.overlay = "Q7", .clip_path = path, .offset_told = true), BE_WRONG_USE, "--footage");
  refuses(ASK(.overlay = "Q7", .clip_path = "a.mp4", .footage_path = footage), BE_BAD_INPUT,
          "cannot be read");
  refuses(ASK(.overlay = "Q7", .clip_path = "a.webm", .footage_path = footage), BE_WRONG_USE,
          ".mp4 or .mov");
  refuses(ASK(.overlay = "Q7", .clip_path = "/nowhere/at/all.mov"), BE_BAD_INPUT, "create");
  refuses(ASK(.overlay = "Q7", .clip_path = footage, .footage_path = footage), BE_WRONG_USE,
          "over the footage");
}

/* ---- a run that was ended ---- */

/* Goes on until so many of its items are there, then is killed. */
static void run_and_kill(const struct be_publishing *asked, const char *item)
{
  pid_t child = fork();
  assert_true(child >= 0);
  if (child == 0) {
    struct be_doc *doc = NULL;
    struct be_err err;
    _exit(publish(asked, &doc, &err));
  }
  int status = 0;
  /* Until it is there, or the child has come to an end. */
  while (!be_file_exists(item) && waitpid(child, &status, WNOHANG) == 0)
    nanosleep(&(struct timespec){0, 1000000}, NULL);
  kill(child, SIGKILL);
  waitpid(child, &status, 0);
}

static void a_killed_clip_goes_on(void **state)
{
  char whole[512], killed[512], item[600], part[600];
  struct be_doc *doc = NULL;
  struct be_err err;
  (void)state;
  test_path(whole, "whole.mov");
  test_path(killed, "killed.mov");
  be_file_remove(whole, NULL);
  be_file_remove(killed, NULL);
  struct be_publishing asked = {.overlay = "Q7", .clip_path = whole, .clip_rate = "25"};
  if (publish(&asked, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  be_doc_free(doc);
  asked.clip_path = killed;
  snprintf(item, sizeof item, "%s.part/00001.segment", killed);
  snprintf(part, sizeof part, "%s.part", killed);
  run_and_kill(&asked, item);
  assert_true(be_file_exists(item));
  assert_false(be_file_exists(killed));
  if (publish(&asked, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  assert_true(says(doc, "had been ended"));
  be_doc_free(doc);
  assert_same_file(whole, killed);
  assert_false(be_file_exists(part));
  /* Parts of another clip are not taken for those of this one. */
  asked.clip_rate = "24";
  be_file_remove(killed, NULL);
  run_and_kill(&asked, item);
  snprintf(item, sizeof item, "%s.part/00001.segment.part", killed);
  test_write(item, "half a segment");
  asked.clip_rate = "25";
  if (publish(&asked, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  be_doc_free(doc);
  assert_same_file(whole, killed);
}

static void killed_pictures_go_on_without_the_module(void **state)
{
  char whole[520], killed[520], item[600], other[600];
  struct be_doc *doc = NULL;
  struct be_err err;
  (void)state;
  test_path(whole, "whole-pictures/");
  test_path(killed, "killed-pictures/");
  remove_pictures(whole);
  remove_pictures(killed);
  be_film_look_in("/nowhere");
  struct be_publishing asked = {.overlay = "Q7", .clip_path = whole, .clip_rate = "24"};
  if (publish(&asked, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  be_doc_free(doc);
  asked.clip_path = killed;
  snprintf(item, sizeof item, "%s00005.png", killed);
  run_and_kill(&asked, item);
  assert_true(count_pictures(killed) < count_pictures(whole));
  if (publish(&asked, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  assert_true(says(doc, "had been ended"));
  be_doc_free(doc);
  size_t count = count_pictures(whole);
  assert_true(count >= 143 && count <= 146);
  assert_int_equal(count_pictures(killed), count);
  for (size_t i = 0; i < count; i += 11) {
    snprintf(item, sizeof item, "%s%05zu.png", killed, i);
    snprintf(other, sizeof other, "%s%05zu.png", whole, i);
    assert_same_file(other, item);
  }
  /* What somebody has changed since is not made anew over it. */
  snprintf(item, sizeof item, "%s00007.png", killed);
  test_write(item, "retouched");
  refuses(asked, BE_WRONG_USE, "changed since");
  assert_int_equal(be_file_size(item), 9);
  assert_int_equal(be_file_remove(item, NULL), BE_OK);
  test_path(whole, "none.mov");
  refuses(ASK(.overlay = "Q7", .clip_path = whole), BE_FAILED, "cannot be opened");
  be_film_look_in(NULL);
}

static void a_full_disk_loses_nothing(void **state)
{
  struct rlimit limit, before;
  struct be_doc *doc = NULL;
  struct be_err err;
  char path[512];
  (void)state;
  test_path(path, "full.mov");
  be_file_remove(path, NULL);
  struct be_publishing asked = {.overlay = "Q7", .clip_path = path, .clip_rate = "24"};
  signal(SIGXFSZ, SIG_IGN);
  assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
  limit = before;
  limit.rlim_cur = 100000;
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
  enum be_status status = publish(&asked, &doc, &err);
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
  assert_int_equal(status, BE_FAILED);
  assert_non_null(strstr(err.remedy, "goes on"));
  assert_false(be_file_exists(path));
  if (publish(&asked, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  be_doc_free(doc);
  assert_true(be_file_size(path) > 100000);
}

/* ---- over footage ---- */

static void make_footage(char path[512], const char *name)
{
  char said[10];
  test_path(path, name);
  look_up(said, sizeof said,
          "ffmpeg -v error -y -f lavfi -i color=0x406080:s=640x360:r=30000/1001:d=9 -f lavfi -i "
          "sine=f=300:d=9 -c:v libx264 -preset ultrafast -c:a aac '%s'",
          path);
}

/* 1 where the plate is drawn over the ground at this frame. */
static bool is_drawn(const char *path, int frame)
{
  char rgb[4];
  look_up(rgb, sizeof rgb,
          "ffmpeg -v error -i '%s' -vf 'select=eq(n\\,%d),format=rgb24,crop=1:1:320:335:exact=1' "
          "-frames:v 1 -f rawvideo -pix_fmt rgb24 -",
          path, frame);
  return (unsigned char)rgb[2] < 80;
}

static void the_overlay_lies_in_the_footage(void **state)
{
  char footage[512], path[512], said[400], was[400];
  struct be_doc *doc = NULL;
  struct be_err err;
  (void)state;
  make_footage(footage, "foot.mp4");
  test_path(path, "over.mp4");
  be_file_remove(path, NULL);
  struct be_publishing asked = {.overlay = "Q7",
                                .clip_path = path,
                                .footage_path = footage,
                                .offset_s = 5.5,
                                .offset_told = true};
  if (publish(&asked, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  assert_true(says(doc, "5.500 s"));
  be_doc_free(doc);
#define TIMES                                                                                      \
  "ffprobe -v error -select_streams v -show_entries packet=pts_time,duration_time -of csv=p=0 "    \
  "'%s' | sort -n | sha256sum"
  look_up(was, sizeof was, TIMES, footage);
  look_up(said, sizeof said, TIMES, path);
  assert_string_equal(said, was);
#define SOUND "ffmpeg -v error -i '%s' -map 0:a -c copy -f md5 -"
  look_up(was, sizeof was, SOUND, footage);
  look_up(said, sizeof said, SOUND, path);
  assert_string_equal(said, was);
  /* It is there from 4 s before it lets go, which is at frame 164.8, until 2 s after. */
  assert_false(is_drawn(path, 40));
  assert_true(is_drawn(path, 48));
  assert_true(is_drawn(path, 222));
  assert_false(is_drawn(path, 228));
  /* Cut off behind its index: the clip has what can be read, and says what is missing. */
  char cut[512];
  test_path(cut, "foot-cut.mp4");
  look_up(said, sizeof said,
          "ffmpeg -v error -y -i '%s' -c copy -movflags +faststart '%s' && "
          "truncate -s $(($(stat -c %%s '%s') * 6 / 10)) '%s' && echo made",
          footage, cut, cut, cut);
  asked.footage_path = cut;
  if (publish(&asked, &doc, &err) != BE_OK) fail_msg("%s", err.what);
  assert_true(says(doc, "cut off or damaged: of the 270 frames (9.01 s)"));
  be_doc_free(doc);
  asked.footage_path = footage;
  asked.offset_s = 300;
  refuses(asked, BE_WRONG_USE, "nothing of the pull");
  /* The sound has no snap. */
  asked.offset_told = false;
  refuses(asked, BE_BAD_INPUT, "snap");
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_book_is_made),
      cmocka_unit_test(the_overlay_keeps_the_time_of_the_trace),
      cmocka_unit_test(all_lies_inside_the_margin),
      cmocka_unit_test(a_reveal_has_every_row_with_n_and_interval),
      cmocka_unit_test(clips_are_what_was_asked_for),
      cmocka_unit_test(what_is_not_ours_stays),
      cmocka_unit_test(a_part_that_is_not_ours_stays),
      cmocka_unit_test(wrong_use_is_told),
      cmocka_unit_test(a_killed_clip_goes_on),
      cmocka_unit_test(killed_pictures_go_on_without_the_module),
      cmocka_unit_test(a_full_disk_loses_nothing),
      cmocka_unit_test(the_overlay_lies_in_the_footage),
  };
  return be_tests("app: clips", tests);
}
