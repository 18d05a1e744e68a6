/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Footage of makes that people have, written by the program ffmpeg, which is not ours. */
#define _POSIX_C_SOURCE 200809L
#include "film/film.h"
#include "test.h"

enum { SIDE_MOST = 128 };
static const struct be_film *film;
static unsigned char pixels[SIDE_MOST * SIDE_MOST * 4];

static void scratch(char path[512], const char *name)
{
  const char *build = getenv("BUILD_DIR");
  char folder[400];
  snprintf(folder, sizeof folder, "%.300s/tests/film/scratch", build ? build : "/tmp");
  assert_int_equal(be_dir_create(folder, NULL), BE_OK);
  snprintf(path, 512, "%.400s/%.100s", folder, name);
}

/* drawn: a picture as a filter makes it; coded: options of what writes it. */
static void record(char path[512], const char *name, const char *drawn, const char *coded)
{
  char command[2000];
  scratch(path, name);
  snprintf(command, sizeof command, "ffmpeg -v error -y -f lavfi -i \"%s\" %s '%s'", drawn, coded,
           path);
  assert_int_equal(system(command), 0);
}

static struct be_footage *open_footage(const char *path, const struct be_footage_about **about)
{
  struct be_footage *footage = NULL;
  struct be_err err = {0};
  if (film->footage_open(path, &footage, about, &err) != BE_OK) fail_msg("%s", err.what);
  assert_true((*about)->width <= SIDE_MOST && (*about)->height <= SIDE_MOST);
  return footage;
}

/* Red, green and blue of a pixel of the next frame. */
static const unsigned char *next(struct be_footage *footage, const struct be_footage_about *about,
                                 int x, int y)
{
  bool whole;
  struct be_err err = {0};
  if (film->footage_next(footage, pixels, (size_t)about->width * 4, &whole, &err) != BE_OK)
    fail_msg("%s", err.what);
  return pixels + ((size_t)y * (size_t)about->width + (size_t)x) * 4;
}

/* Old camcorders write no time beside some of their frames. */
static void frames_without_a_time_are_all_there(void **state)
{
  char path[512];
  const struct be_footage_about *about;
  (void)state;
  record(path, "old.mpg", "color=s=96x64:r=25:d=2,geq=lum=30+4*N:cb=128:cr=128",
         "-c:v mpeg2video -q:v 2 -bf 2");
  struct be_footage *footage = open_footage(path, &about);
  assert_int_equal(about->frames, 50);
  for (size_t i = 0; i < 50; i++) {
    assert_int_equal(about->time[i] * 25, (int64_t)i * 90000);
    double grey = (30 + 4 * (double)i - 16) * 255 / 219;
    assert_near(next(footage, about, 40, 30)[1], fmin(grey, 255), 3);
  }
  film->footage_close(footage);
}

static void an_odd_row_is_left_out(void **state)
{
  char path[512];
  const struct be_footage_about *about;
  (void)state;
  record(path, "odd.mkv",
         "color=s=99x67:r=25:d=0.2,format=gbrp,geq=r=255*mod(X\\,2):g=255*mod(Y\\,2):b=0",
         "-c:v ffv1 -pix_fmt bgr0");
  struct be_footage *footage = open_footage(path, &about);
  assert_int_equal(about->width, 98);
  assert_int_equal(about->height, 66);
  for (int i = 0; i < 3; i++) {
    const unsigned char *pixel = next(footage, about, 95 + i % 2, 64 + i / 2);
    assert_int_equal(pixel[2], i % 2 ? 0 : 255);
    assert_int_equal(pixel[1], i / 2 ? 255 : 0);
  }
  film->footage_close(footage);
}

/* What a file tells of how it is to be shown (ISO/IEC 14496-12, 8.3.2). */
static void put_matrix(const char *path, const int matrix[4])
{
  struct be_buf bytes;
  size_t at = 0;
  be_buf_init(&bytes, 1 << 24);
  assert_int_equal(be_file_read(path, &bytes, NULL), BE_OK);
  while (at + 4 < bytes.size && memcmp(bytes.data + at, "tkhd", 4) != 0) at++;
  assert_true(at + 80 < bytes.size);
  for (size_t i = 0; i < 4; i++) {
    char *to = bytes.data + at + 44 + 4 * (size_t[]){0, 1, 3, 4}[i];
    uint32_t value = (uint32_t)matrix[i] << 16;
    for (int k = 0; k < 4; k++) to[k] = (char)(value >> (24 - 8 * k) & 255);
  }
  assert_int_equal(be_file_write(path, bytes.data, bytes.size, NULL), BE_OK);
  be_buf_free(&bytes);
}

/* As a front camera may have it: red is in the upper left corner of what was recorded. */
static void what_is_mirrored_is_shown_so(void **state)
{
  static const struct {
    int matrix[4], width, x, y;
  } ways[] = {
      {{1, 0, 0, 1}, 96, 4, 4},     {{-1, 0, 0, 1}, 96, 90, 4}, {{1, 0, 0, -1}, 96, 4, 60},
      {{-1, 0, 0, -1}, 96, 90, 60}, {{0, 1, -1, 0}, 64, 60, 4}, {{0, 1, 1, 0}, 64, 4, 4},
      {{0, -1, -1, 0}, 64, 60, 90},
  };
  char path[512];
  const struct be_footage_about *about;
  (void)state;
  for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
    record(path, "turned.mp4", "color=blue:s=96x64:r=25:d=0.2,drawbox=0:0:16:16:red:fill",
           "-c:v libx264 -pix_fmt yuv420p");
    put_matrix(path, ways[i].matrix);
    struct be_footage *footage = open_footage(path, &about);
    assert_int_equal(about->width, ways[i].width);
    assert_true(next(footage, about, ways[i].x, ways[i].y)[2] > 200);
    film->footage_close(footage);
  }
}

/* ITU-R BT.2408, table 1: white of the usual range is at 203 cd/m2, a grey card of 18 % at 26
 * cd/m2; both are told there as signals of HLG and of PQ. What is shown of it follows from BT.1886,
 * where lights are not drawn in. */
static void high_dynamic_range_is_drawn_in(void **state)
{
  static const struct {
    const char *tag, *range;
    double grey, white;
  } kinds[] = {{"arib-std-b67", "HLG", 0.38, 0.75}, {"smpte2084", "PQ", 0.38, 0.58}};
  char path[512], drawn[200], coded[200];
  const struct be_footage_about *about;
  int shown[2][2];
  (void)state;
  for (size_t i = 0; i < 2; i++) {
    snprintf(drawn, sizeof drawn,
             "color=s=96x64:r=25:d=0.2,format=yuv444p10,geq=lum=if(lt(X\\,48)\\,%d\\,%d):cb=512:"
             "cr=512",
             (int)lround(64 + 876 * kinds[i].grey), (int)lround(64 + 876 * kinds[i].white));
    snprintf(coded, sizeof coded,
             "-c:v ffv1 -color_trc %s -colorspace bt2020nc -color_primaries bt2020 -color_range tv",
             kinds[i].tag);
    record(path, "bright.mkv", drawn, coded);
    struct be_footage *footage = open_footage(path, &about);
    assert_string_equal(about->range, kinds[i].range);
    for (int k = 0; k < 2; k++) {
      const unsigned char *pixel = next(footage, about, k ? 80 : 10, 30);
      shown[i][k] = pixel[1];
      assert_near(pixel[0], pixel[1], 1); /* grey stays grey */
      assert_near(pixel[2], pixel[1], 1);
    }
    film->footage_close(footage);
    assert_near(shown[i][0], 255 * pow(26.0 / 203, 1 / 2.4), 4);
    assert_in_range(shown[i][1], 235, 250);
  }
  assert_near(shown[0][1], shown[1][1], 2);
  record(path, "usual.mkv", "color=gray:s=96x64:r=25:d=0.2", "-c:v ffv1");
  struct be_footage *usual = open_footage(path, &about);
  assert_null(about->range);
  film->footage_close(usual);
}

/* Above half the rate of a file nothing can be heard, and none is made up. */
static void sound_has_no_more_samples_than_the_file(void **state)
{
  char path[512];
  struct be_sound sound;
  struct be_err err = {0};
  (void)state;
  for (int i = 0; i < 3; i++) {
    int rate = (int[]){8000, 44100, 96000}[i];
    char drawn[100];
    snprintf(drawn, sizeof drawn, "sine=f=300:r=%d:d=2.5", rate);
    record(path, "rate.wav", drawn, "");
    assert_int_equal(film->sound_read(path, 48000, 60, &sound, &err), BE_OK);
    assert_near(sound.rate_Hz, rate < 48000 ? rate : 48000, 0);
    assert_near((double)sound.count / sound.rate_Hz, 2.5, 0.001);
    film->sound_free(&sound);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(frames_without_a_time_are_all_there),
      cmocka_unit_test(an_odd_row_is_left_out),
      cmocka_unit_test(what_is_mirrored_is_shown_so),
      cmocka_unit_test(high_dynamic_range_is_drawn_in),
      cmocka_unit_test(sound_has_no_more_samples_than_the_file),
  };
  struct be_err err = {0};
  if (be_film_open(&film, &err) != BE_OK) print_error("%s\n", err.what);
  return be_tests("film: footage", tests);
}
