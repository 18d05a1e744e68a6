/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _POSIX_C_SOURCE 200809L
#include "clips_test.h"

#include "app/clips/clips.h"
#include "app/clips/overlay.h"
#include "app/clips/paint.h"
#include "app/clips/reveal.h"

static void a_book_is_made(void **state)
{
  (void)state;
  clips_book(book, "clips.book");
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

/* Codes of any length, of any script, stay inside what is theirs. */
static void long_codes_stay_in_their_place(void **state)
{
  static const char *const parts[] = {"K0117-", "\xE7\xB5\x90\xE3\x81\xB3",
                                      "\xF0\x9F\x91\xA9\xE2\x80\x8D\xF0\x9F\x94\xAC",
                                      "\xD7\x9E\xD7\x91\xD7\x97-", "x"};
  cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, 1, 1);
  cairo_t *to = cairo_create(surface);
  const struct lettering small = {64, false, HOLD_LEFT};
  char lines[2][LINE_BYTES];
  (void)state;
  for (size_t i = 0; i < 5; i++)
    for (size_t times = 1; times * strlen(parts[i]) < 900; times += 7) {
      char code[1000] = "";
      for (size_t k = 0; k < times; k++) strcat(code, parts[i]);
      be_paint_short(to, code, &small, 400, lines[0]);
      assert_true(be_paint_wide(to, lines[0], &small) <= 400 &&
                  be_utf8_valid(lines[0], strlen(lines[0])));
      size_t count = be_paint_code(to, code, &small, 400, lines);
      for (size_t k = 0; k < count; k++)
        assert_true(be_paint_wide(to, lines[k], &small) <= 400 &&
                    be_utf8_valid(lines[k], strlen(lines[k])));
      if (times == 1 && count == 1) assert_string_equal(lines[0], code);
    }
  cairo_destroy(to);
  cairo_surface_destroy(surface);
}

/* The recorded load is shown; where the trace has another peak, both are named. */
static void it_says_which_peak_is_shown(void **state)
{
  char path[512];
  struct be_doc *doc = NULL;
  struct be_err err;
  (void)state;
  write_trace(book, "Q9");
  test_path(path, "peaks/");
  if (publish(&ASK(.overlay = "Q9", .clip_path = path, .clip_rate = "24"), &doc, &err) != BE_OK)
    fail_msg("%s", err.what);
  assert_true(says(doc, "recorded peak 63.2 N, trace peak 60.0 N"));
  be_doc_free(doc);
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

static void wrong_use_is_told(void **state)
{
  char path[512], footage[512];
  (void)state;
  test_path(path, "wrong.mov");
  test_path(footage, "no-footage.mp4");
  test_write(footage, "no film");
  refuses(ASK(.overlay = "Q7"), BE_WRONG_USE, "--to");
  refuses(ASK(.clip_path = path), BE_WRONG_USE, "belong to");
  refuses(ASK(.overlay = "Q7", .reveal = "standings", .clip_path = path), BE_WRONG_USE, "one clip");
  refuses(ASK(.overlay = "X99", .clip_path = path), BE_WRONG_USE, "X99");
  refuses(ASK(.overlay = "Q8", .clip_path = path), BE_BAD_INPUT, "no trace");
  refuses(ASK(.overlay = "Q7", .clip_path = "x.avi"), BE_WRONG_USE, "x.avi");
  refuses(ASK(.overlay = "", .clip_path = path), BE_WRONG_USE, "of what the clip is");
  char folder[512];
  test_path(folder, "folder.mov");
  assert_int_equal(be_dir_create(folder, NULL), BE_OK);
  refuses(ASK(.overlay = "Q7", .clip_path = folder), BE_WRONG_USE, "a folder of this name");
  refuses(ASK(.overlay = "Q7", .clip_path = "x.avi", .footage_path = footage), BE_WRONG_USE,
          "not \"x.avi\"");
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

static void endings_have_no_case(void **state)
{
  static const char *const names[][2] = {{"Loud.MOV", "mov"}, {"Loud.Mp4", "mp4"}};
  char footage[512], path[512], said[400];
  struct be_doc *doc = NULL;
  struct be_err err;
  (void)state;
  make_footage(footage, "loud.mp4");
  for (size_t i = 0; i < 2; i++) {
    test_path(path, names[i][0]);
    be_file_remove(path, NULL);
    if (publish(&ASK(.overlay = "Q7", .clip_path = path, .footage_path = footage, .offset_s = 5.5,
                     .offset_told = true),
                &doc, &err) != BE_OK)
      fail_msg("%s", err.what);
    be_doc_free(doc);
    look_up(said, sizeof said, "ffprobe -v error -show_entries format_tags=major_brand '%s'", path);
    assert_int_equal(strstr(said, "=qt  ") != NULL, i == 0);
  }
  test_path(path, "loud.WebM");
  be_file_remove(path, NULL);
  if (publish(&ASK(.overlay = "Q7", .clip_path = path, .clip_rate = "24"), &doc, &err) != BE_OK)
    fail_msg("%s", err.what);
  be_doc_free(doc);
  look_up(said, sizeof said, PROBE, path);
  assert_non_null(strstr(said, "vp9,1920,1080"));
  /* What somebody made of it since is theirs. */
  look_up(said, sizeof said,
          "ffmpeg -v error -y -i '%s' -c copy -f webm '%s.2' && mv '%s.2' '%s' && echo made", path,
          path, path, path);
  refuses(ASK(.overlay = "Q7", .clip_path = path, .clip_rate = "24"), BE_WRONG_USE, "no clip of");
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

/* Sound that players do not play in a clip is coded anew; of many tracks the main one is taken, and
 * it is said. */
static void other_tracks_are_told_and_odd_sound_is_made_plain(void **state)
{
  char footage[512], path[512], said[400];
  struct be_doc *doc = NULL;
  struct be_err err;
  (void)state;
  test_path(footage, "many.mkv");
  test_path(path, "many.mp4");
  be_file_remove(path, NULL);
  look_up(said, sizeof said,
          "ffmpeg -v error -y -f lavfi -i color=0x406080:s=320x180:r=25:d=7 -f lavfi -i "
          "sine=f=300:d=7 -f lavfi -i color=red:s=64x64:r=5:d=7 -map 0 -map 1 -map 1 -map 2 -c:v "
          "libx264 -preset ultrafast -c:a flac '%s' && echo made",
          footage);
  if (publish(&ASK(.overlay = "Q7", .clip_path = path, .footage_path = footage, .offset_s = 5.5,
                   .offset_told = true),
              &doc, &err) != BE_OK)
    fail_msg("%s", err.what);
  assert_true(says(doc, "2 tracks of sound"));
  assert_true(says(doc, "2 tracks of frames"));
  be_doc_free(doc);
  look_up(said, sizeof said, "ffprobe -v error -show_entries stream=codec_name -of csv=p=0 '%s'",
          path);
  assert_string_equal(said, "h264\naac\n");
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_book_is_made),
      cmocka_unit_test(the_overlay_keeps_the_time_of_the_trace),
      cmocka_unit_test(all_lies_inside_the_margin),
      cmocka_unit_test(a_reveal_has_every_row_with_n_and_interval),
      cmocka_unit_test(long_codes_stay_in_their_place),
      cmocka_unit_test(it_says_which_peak_is_shown),
      cmocka_unit_test(clips_are_what_was_asked_for),
      cmocka_unit_test(wrong_use_is_told),
      cmocka_unit_test(endings_have_no_case),
      cmocka_unit_test(the_overlay_lies_in_the_footage),
      cmocka_unit_test(other_tracks_are_told_and_odd_sound_is_made_plain),
  };
  return be_tests("app: clips", tests);
}
