/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is coded is looked at with the programs ffprobe and ffmpeg, which are not ours. */
#define _POSIX_C_SOURCE 200809L
#include "film/film.h"
#include "test.h"

#include <signal.h>
#include <sys/resource.h>
#include <unistd.h>

enum { WIDE = 96, HIGH = 64, EACH = 5, ALL = 13 };
static const struct be_film *film;

static void scratch(char path[512], const char *name)
{
  const char *build = getenv("BUILD_DIR");
  char folder[400];
  snprintf(folder, sizeof folder, "%.300s/tests/film/scratch", build ? build : "/tmp");
  assert_int_equal(be_dir_create(folder, NULL), BE_OK);
  snprintf(path, 512, "%.400s/%.100s", folder, name);
}

static void look_up(char *said, size_t size, const char *format, ...) BE_PRINTF(3, 4);
static void look_up(char *said, size_t size, const char *format, ...)
{
  char command[2000];
  va_list list;
  va_start(list, format);
  vsnprintf(command, sizeof command, format, list);
  va_end(list);
  FILE *pipe = popen(command, "r");
  assert_non_null(pipe);
  size_t got = fread(said, 1, size - 1, pipe);
  said[got] = '\0';
  assert_int_equal(pclose(pipe), 0);
}

static enum be_status keep(void *context, const void *bytes, size_t size)
{
  be_buf_add(context, bytes, size);
  return ((struct be_buf *)context)->status;
}

/* Left half empty, right half half seen in pure red; on it a wholly seen square that moves down. */
static void draw(unsigned char *pixels, int frame)
{
  for (int y = 0; y < HIGH; y++)
    for (int x = 0; x < WIDE; x++) {
      unsigned char *to = pixels + ((size_t)y * WIDE + (size_t)x) * 4;
      bool square = x >= 64 && x < 80 && y >= 4 * frame && y < 4 * frame + 8;
      memset(to, 0, 4);
      if (x >= WIDE / 2) to[2] = to[3] = 128;
      if (square) to[0] = to[3] = 255, to[2] = 0;
    }
}

static void code_segment(const struct be_film_form *form, int first, int past, struct be_buf *bytes)
{
  static unsigned char pixels[WIDE * HIGH * 4];
  struct be_coder *coder = NULL;
  struct be_err err = {0};
  be_buf_init(bytes, 1 << 26);
  assert_int_equal(film->code_begin(form, keep, bytes, &coder, &err), BE_OK);
  for (int i = first; i < past; i++) {
    draw(pixels, i);
    assert_int_equal(film->code_frame(coder, pixels, WIDE * 4, &err), BE_OK);
  }
  assert_int_equal(film->code_end(coder, &err), BE_OK);
  film->code_drop(coder);
}

static enum be_status write_film(const char *path, const struct be_film_form *form, int frames,
                                 struct be_err *err)
{
  struct be_joiner *joiner = NULL;
  enum be_status status = film->join_begin(path, form, NULL, "bitterend: test", &joiner, err);
  for (int first = 0; first < frames && status == BE_OK; first += EACH) {
    struct be_buf bytes;
    code_segment(form, first, first + EACH < frames ? first + EACH : frames, &bytes);
    status = film->join_segment(joiner, bytes.data, bytes.size, err);
    be_buf_free(&bytes);
  }
  if (status == BE_OK) status = film->join_end(joiner, err);
  film->join_drop(joiner);
  return status;
}

static struct be_film_form form_of(enum be_film_kind kind, int64_t num, int64_t den)
{
  return (struct be_film_form){kind, WIDE, HIGH, {num, den}, ALL};
}

/* ---- kinds ---- */

static void point(const char *path, const char *decoder, int frame, int x, int y,
                  unsigned char rgba[5])
{
  look_up((char *)rgba, 5,
          "ffmpeg -v error %s -i '%s' -vf 'select=eq(n\\,%d),format=rgba,crop=1:1:%d:%d:exact=1' "
          "-frames:v 1 -f rawvideo -pix_fmt rgba -",
          decoder, path, frame, x, y);
}

static void assert_kind(enum be_film_kind kind, const char *codec, const char *pixels,
                        const char *decoder, int within)
{
  char path[512], said[1000], name[40], want[200];
  unsigned char rgba[5];
  struct be_err err = {0};
  const struct be_film_form form = form_of(kind, 30000, 1001);
  snprintf(name, sizeof name, "kind-%s%s", be_film_about[kind].word, be_film_about[kind].ending);
  scratch(path, name);
  if (write_film(path, &form, ALL, &err) != BE_OK) fail_msg("%s", err.what);
  look_up(said, sizeof said,
          "ffprobe -v error -count_frames -select_streams v -show_entries "
          "stream=codec_name,width,height,pix_fmt,avg_frame_rate,nb_read_frames -of csv=p=0 '%s'",
          path);
  snprintf(want, sizeof want, "%s,%d,%d,%s,30000/1001,%d\n", codec, WIDE, HIGH, pixels, ALL);
  assert_string_equal(said, want);
  point(path, decoder, 7, 10, 10, rgba); /* nothing is seen */
  assert_int_equal(rgba[3], be_film_about[kind].transparent ? 0 : 255);
  point(path, decoder, 7, 72, 32, rgba); /* the square of frame 7 */
  assert_int_equal(rgba[3], 255);
  assert_near(rgba[2], 255, within);
  assert_near(rgba[0], 0, within);
  point(path, decoder, 7, 56, 50, rgba); /* half seen: the colour itself is whole */
  assert_near(rgba[3], be_film_about[kind].transparent ? 128 : 255, within);
  if (be_film_about[kind].transparent) assert_near(rgba[0], 255, within);
}

static void every_kind_keeps_its_alpha(void **state)
{
  (void)state;
  assert_kind(BE_FILM_QTRLE, "qtrle", "argb", "", 0);
  assert_kind(BE_FILM_VP9, "vp9", "yuv420p", "-c:v libvpx-vp9", 12);
  assert_kind(BE_FILM_PRORES, "prores", "yuva444p12le", "", 6);
  assert_kind(BE_FILM_H264, "h264", "yuv420p", "", 12);
}

static void times_are_exact(void **state)
{
  static const struct be_fraction rates[] = {{24, 1}, {25, 1},       {30, 1},      {50, 1},
                                             {60, 1}, {24000, 1001}, {60000, 1001}};
  char path[512];
  struct be_err err = {0};
  (void)state;
  scratch(path, "times.mov");
  for (size_t i = 0; i < sizeof rates / sizeof rates[0]; i++) {
    const struct be_film_form form = form_of(BE_FILM_QTRLE, rates[i].num, rates[i].den);
    struct be_footage *footage = NULL;
    const struct be_footage_about *about = NULL;
    assert_int_equal(write_film(path, &form, ALL, &err), BE_OK);
    assert_int_equal(film->footage_open(path, &footage, &about, &err), BE_OK);
    assert_int_equal(about->frames, ALL);
    /* time * unit = frame / rate, in whole numbers: also where the last one ends. */
    for (size_t k = 0; k <= ALL; k++)
      assert_true(about->time[k] * about->unit.num * rates[i].num ==
                  (int64_t)k * rates[i].den * about->unit.den);
    film->footage_close(footage);
  }
}

static void rates_are_read(void **state)
{
  struct be_fraction rate;
  struct be_err err = {0};
  (void)state;
  assert_int_equal(be_film_rate("29.97", &rate, &err), BE_OK);
  assert_true(rate.num == 30000 && rate.den == 1001);
  assert_int_equal(be_film_rate("50", &rate, &err), BE_OK);
  assert_true(rate.num == 50 && rate.den == 1);
  assert_int_equal(be_film_rate("31", &rate, &err), BE_WRONG_USE);
  assert_non_null(strstr(err.what, "\"31\""));
}

static void the_same_frames_give_the_same_bytes(void **state)
{
  (void)state;
  for (int kind = 0; kind < BE_FILM_PNG; kind++) {
    const struct be_film_form form = form_of((enum be_film_kind)kind, 25, 1);
    struct be_buf once, again;
    code_segment(&form, 3, 9, &once);
    code_segment(&form, 3, 9, &again);
    assert_int_equal(once.size, again.size);
    assert_memory_equal(once.data, again.data, once.size);
    be_buf_free(&once);
    be_buf_free(&again);
  }
}

/* ---- what is wrong ---- */

static void segments_that_do_not_fit_are_refused(void **state)
{
  const struct be_film_form form = form_of(BE_FILM_H264, 25, 1);
  const struct be_film_form other = {BE_FILM_H264, WIDE, HIGH * 2, {25, 1}, ALL};
  struct be_joiner *joiner = NULL;
  struct be_err err = {0};
  struct be_buf bytes;
  char path[512];
  (void)state;
  scratch(path, "unfit.mp4");
  code_segment(&form, 0, EACH, &bytes);
  assert_int_equal(film->join_begin(path, &form, NULL, "x", &joiner, &err), BE_OK);
  assert_int_equal(film->join_segment(joiner, bytes.data, bytes.size - 7, &err), BE_BAD_INPUT);
  film->join_drop(joiner);
  assert_int_equal(film->join_begin(path, &form, NULL, "x", &joiner, &err), BE_OK);
  assert_int_equal(film->join_segment(joiner, bytes.data, bytes.size, &err), BE_OK);
  assert_int_equal(film->join_end(joiner, &err), BE_BAD_INPUT); /* 5 frames of 13 */
  assert_non_null(strstr(err.what, "5 frames instead of 13"));
  film->join_drop(joiner);
  assert_int_equal(film->join_begin(path, &other, NULL, "x", &joiner, &err), BE_OK);
  assert_int_equal(film->join_segment(joiner, bytes.data, bytes.size, &err), BE_BAD_INPUT);
  film->join_drop(joiner);
  be_buf_free(&bytes);
}

static void bad_footage_is_refused(void **state)
{
  struct be_footage *footage = NULL;
  const struct be_footage_about *about = NULL;
  struct be_sound sound;
  struct be_err err = {0};
  char path[512], picture[520], said[100];
  (void)state;
  scratch(path, "no-film.mp4");
  assert_int_equal(be_file_write(path, "this is no film at all\n", 23, NULL), BE_OK);
  assert_int_equal(film->footage_open(path, &footage, &about, &err), BE_BAD_INPUT);
  assert_null(footage);
  assert_non_null(strstr(err.file, "no-film.mp4"));
  assert_int_equal(film->footage_open("/nowhere/x.mp4", &footage, &about, &err), BE_BAD_INPUT);
  assert_int_equal(film->sound_read(path, 48000, 10, &sound, &err), BE_BAD_INPUT);
  look_up(said, sizeof said,
          "ffmpeg -v error -y -f lavfi -i color=red:s=96x64 -frames:v 1 '%s.png' && echo made",
          path);
  assert_string_equal(said, "made\n");
  snprintf(picture, sizeof picture, "%s.png", path);
  assert_int_equal(film->footage_open(picture, &footage, &about, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "one picture"));
  scratch(path, "empty.mp4");
  assert_int_equal(be_file_write(path, "", 0, NULL), BE_OK);
  assert_int_equal(film->footage_open(path, &footage, &about, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "empty"));
  scratch(path, "headless.mp4");
  look_up(said, sizeof said,
          "ffmpeg -v error -y -f lavfi -i testsrc2=s=320x180:d=2 -c:v libx264 '%s' && "
          "truncate -s 20000 '%s' && echo made",
          path, path);
  assert_int_equal(film->footage_open(path, &footage, &about, &err), BE_BAD_INPUT);
  assert_non_null(strstr(err.what, "cut off: the index"));
  scratch(path, "silent.mp4");
  const struct be_film_form form = form_of(BE_FILM_H264, 25, 1);
  assert_int_equal(write_film(path, &form, ALL, &err), BE_OK);
  assert_int_equal(film->sound_read(path, 48000, 10, &sound, &err), BE_NO);
}

static void a_full_disk_is_told(void **state)
{
  const struct be_film_form form = form_of(BE_FILM_PRORES, 25, 1);
  struct rlimit limit, before;
  struct be_err err = {0};
  char path[512];
  (void)state;
  scratch(path, "full.mov");
  signal(SIGXFSZ, SIG_IGN);
  assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
  limit = before;
  limit.rlim_cur = 2000;
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
  enum be_status status = write_film(path, &form, ALL, &err);
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
  assert_int_equal(status, BE_FAILED);
  assert_non_null(strstr(err.what, "cannot be written"));
}

static void without_the_module_it_says_what_to_install(void **state)
{
  const struct be_film *none = NULL;
  struct be_err err = {0};
  char folder[512], path[600];
  (void)state;
  be_film_look_in("/nowhere");
  assert_int_equal(be_film_open(&none, &err), BE_FAILED);
  assert_null(none);
  assert_non_null(strstr(err.remedy, "libavformat"));
  scratch(folder, "broken");
  assert_int_equal(be_dir_create(folder, NULL), BE_OK);
  snprintf(path, sizeof path, "%s/libbitterend-film.so", folder);
  assert_int_equal(be_file_write(path, "no module", 9, NULL), BE_OK);
  be_film_look_in(folder);
  assert_int_equal(be_film_open(&none, &err), BE_FAILED);
  assert_non_null(strstr(err.what, "libbitterend-film.so"));
  be_film_look_in(NULL);
  assert_int_equal(be_film_open(&none, &err), BE_OK);
}

/* ---- footage and sound ---- */

static void frames_are_found_by_their_number(void **state)
{
  static unsigned char pixels[WIDE * HIGH * 4];
  const struct be_film_form form = form_of(BE_FILM_QTRLE, 25, 1);
  struct be_footage *footage = NULL;
  const struct be_footage_about *about = NULL;
  struct be_err err = {0};
  char path[512];
  (void)state;
  scratch(path, "found.mov");
  assert_int_equal(write_film(path, &form, ALL, &err), BE_OK);
  assert_int_equal(film->footage_open(path, &footage, &about, &err), BE_OK);
  for (int i = 0; i < 4; i++) {
    bool whole = false;
    int at = (int[]){9, 10, 2, 12}[i];
    if (i != 1) assert_int_equal(film->footage_seek(footage, (size_t)at, &err), BE_OK);
    assert_int_equal(film->footage_next(footage, pixels, WIDE * 4, &whole, &err), BE_OK);
    assert_true(whole);
    const unsigned char *in = pixels + ((size_t)(4 * at + 4) * WIDE + 72) * 4;
    const unsigned char *below = pixels + ((size_t)(4 * at + 9) * WIDE + 72) * 4;
    assert_int_equal(in[0], 255);
    if (4 * at + 9 < HIGH) assert_int_equal(below[0], 0);
  }
  film->footage_close(footage);
}

/* What ends where a camera was switched off, or a copy was broken off. */
static void what_is_missing_of_footage_is_told(void **state)
{
  static const struct {
    const char *name, *how;
    bool told_frames, told_s;
  } kinds[] = {{"cut.mp4", "-c:v libx264 -bf 2 -g 10 -movflags +faststart", true, true},
               {"cut.mkv", "-c:v libx264 -bf 2 -g 10", false, true},
               {"cut.avi", "-c:v mjpeg", true, false}};
  char path[512], said[100];
  struct be_err err = {0};
  (void)state;
  for (size_t i = 0; i < 3; i++) {
    struct be_footage *footage = NULL;
    const struct be_footage_about *about = NULL;
    struct be_buf bytes;
    scratch(path, kinds[i].name);
    look_up(said, sizeof said,
            "ffmpeg -v error -y -f lavfi -i testsrc2=s=320x180:r=25:d=4.04 %s '%s' && echo made",
            kinds[i].how, path);
    assert_int_equal(film->footage_open(path, &footage, &about, &err), BE_OK);
    assert_int_equal(about->frames, 101);
    double unit_s = (double)about->unit.num / (double)about->unit.den;
    assert_false(about->claimed > about->read);
    assert_true(about->claimed_s <= (double)about->time[101] * unit_s + 0.05);
    film->footage_close(footage);
    be_buf_init(&bytes, 1 << 26);
    assert_int_equal(be_file_read(path, &bytes, NULL), BE_OK);
    assert_int_equal(be_file_write(path, bytes.data, bytes.size * 57 / 100, NULL), BE_OK);
    be_buf_free(&bytes);
    assert_int_equal(film->footage_open(path, &footage, &about, &err), BE_OK);
    assert_true(about->frames > 30 && about->frames < 80);
    double ends_s = (double)about->time[about->frames] * unit_s;
    if (kinds[i].told_frames) assert_int_equal(about->claimed, 101);
    if (kinds[i].told_frames) assert_true(about->read < 80);
    if (kinds[i].told_s) assert_near(about->claimed_s, 4.04, 0.1);
    if (kinds[i].told_s) assert_true(ends_s < 3.3);
    film->footage_close(footage);
  }
}

static size_t count_bad(const char *path, size_t *frames)
{
  static unsigned char pixels[320 * 180 * 4];
  struct be_footage *footage = NULL;
  const struct be_footage_about *about = NULL;
  struct be_err err = {0};
  size_t bad = 0;
  assert_int_equal(film->footage_open(path, &footage, &about, &err), BE_OK);
  for (size_t i = 0; i < about->frames; i++) {
    bool whole = true;
    assert_int_equal(film->footage_next(footage, pixels, (size_t)320 * 4, &whole, &err), BE_OK);
    bad += !whole;
  }
  *frames = about->frames;
  film->footage_close(footage);
  return bad;
}

static void frames_that_are_not_whole_are_told(void **state)
{
  static const char *const names[] = {"hurt.mp4", "hurt.ts", "hurt.avi"};
  char path[512], said[100];
  size_t frames = 0;
  (void)state;
  for (size_t i = 0; i < 3; i++) {
    struct be_buf bytes;
    scratch(path, names[i]);
    look_up(said, sizeof said,
            "ffmpeg -v error -y -f lavfi -i testsrc2=s=320x180:r=25:d=4.04 -c:v %s -bf 2 -g 10 "
            "'%s' && echo made",
            i == 0   ? "libx264"
            : i == 1 ? "mpeg2video"
                     : "mpeg4",
            path);
    assert_int_equal(count_bad(path, &frames), 0);
    assert_int_equal(frames, 101);
    if (i > 0) continue;
    be_buf_init(&bytes, 1 << 26);
    assert_int_equal(be_file_read(path, &bytes, NULL), BE_OK);
    memset(bytes.data + bytes.size / 2, 0x5A, bytes.size / 20);
    assert_int_equal(be_file_write(path, bytes.data, bytes.size, NULL), BE_OK);
    be_buf_free(&bytes);
    size_t bad = count_bad(path, &frames);
    assert_int_equal(frames, 101);
    assert_true(bad >= 1 && bad < 40);
  }
}

/* A click at a known moment, in what people record with. (Common practice; no source.) */
static void sound_keeps_its_moment(void **state)
{
  static const char *const codings[][2] = {
      {"click.wav", "-c:a pcm_s16le"}, {"click.m4a", "-c:a aac"}, {"click.webm", "-c:a libopus"}};
  char path[512], said[100];
  struct be_err err = {0};
  (void)state;
  for (size_t i = 0; i < 3; i++) {
    struct be_sound sound;
    size_t top = 0;
    scratch(path, codings[i][0]);
    look_up(said, sizeof said,
            "ffmpeg -v error -y -f lavfi -i "
            "\"aevalsrc='if(between(t,2.345,2.3452),0.9,0)':s=48000:d=4\" %s '%s'",
            codings[i][1], path);
    assert_int_equal(film->sound_read(path, 48000, 60, &sound, &err), BE_OK);
    for (size_t k = 0; k < sound.count; k++)
      if (fabsf(sound.samples[k]) > fabsf(sound.samples[top])) top = k;
    assert_near(sound.start_s + (double)top / sound.rate_Hz, 2.345, 0.002);
    assert_near((double)sound.count / sound.rate_Hz, 4, 0.1);
    film->sound_free(&sound);
  }
}

/* ---- pictures ---- */

static void png_is_straight(void **state)
{
  static unsigned char pixels[WIDE * HIGH * 4];
  char path[512];
  unsigned char rgba[5];
  struct be_buf png;
  (void)state;
  scratch(path, "one.png");
  draw(pixels, 7);
  be_buf_init(&png, 1 << 20);
  assert_int_equal(be_film_png(pixels, WIDE * 4, WIDE, HIGH, &png, NULL), BE_OK);
  assert_int_equal(be_file_write(path, png.data, png.size, NULL), BE_OK);
  be_buf_free(&png);
  point(path, "", 0, 10, 10, rgba);
  assert_memory_equal(rgba, "\0\0\0\0", 4);
  point(path, "", 0, 72, 32, rgba);
  assert_memory_equal(rgba, "\0\0\xFF\xFF", 4);
  point(path, "", 0, 56, 50, rgba);
  assert_memory_equal(rgba, "\xFF\0\0\x80", 4);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_kind_keeps_its_alpha),
      cmocka_unit_test(times_are_exact),
      cmocka_unit_test(rates_are_read),
      cmocka_unit_test(the_same_frames_give_the_same_bytes),
      cmocka_unit_test(segments_that_do_not_fit_are_refused),
      cmocka_unit_test(bad_footage_is_refused),
      cmocka_unit_test(a_full_disk_is_told),
      cmocka_unit_test(without_the_module_it_says_what_to_install),
      cmocka_unit_test(frames_are_found_by_their_number),
      cmocka_unit_test(what_is_missing_of_footage_is_told),
      cmocka_unit_test(frames_that_are_not_whole_are_told),
      cmocka_unit_test(sound_keeps_its_moment),
      cmocka_unit_test(png_is_straight),
  };
  struct be_err err = {0};
  if (be_film_open(&film, &err) != BE_OK) print_error("%s\n", err.what);
  return be_tests("film: coding and reading", tests);
}
