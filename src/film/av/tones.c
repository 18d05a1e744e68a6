/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What phones film in high dynamic range (ITU-R BT.2100-2, tables 4 and 5), made into the usual one
 * (BT.709): the light of the display, its white at 203 cd/m2 (BT.2408, 2.2), the primaries
 * (BT.2087, 2.2), and the signal that a display of BT.1886 shows it with. */
#include "film/av/inside.h"

#include <math.h>
#include <string.h>

enum { STEPS = 4096, FINE = 1 << 16 }; /* the dark takes fine ones */
static const double white = 203, hlg_peak = 1000, hlg_gamma = 1.2, shown_gamma = 2.4;
/* Up to here light stays as it is, above it bends towards the most that can be shown; ours, no
 * source. */
static const double knee = 0.7;

struct be_av_tones {
  bool scene;              /* of HLG: light of the scene, which the display bends by its sum */
  float light[256];        /* of a signal: of the scene 0 to 1, of the display in whites */
  float bent[STEPS + 1];   /* whites of the display by a unit of the scene, by its light */
  float shrink[STEPS + 1]; /* by the brightest of three, in steps of its greatest */
  unsigned char signal[FINE + 1];
};

static double light_of_hlg(double signal)
{
  const double a = 0.17883277, b = 0.28466892, c = 0.55991073;
  return signal <= 0.5 ? signal * signal / 3 : (exp((signal - c) / a) + b) / 12;
}

static double light_of_pq(double signal)
{
  const double m1 = 2610.0 / 16384, m2 = 2523.0 / 4096 * 128;
  const double c1 = 3424.0 / 4096, c2 = 2413.0 / 4096 * 32, c3 = 2392.0 / 4096 * 32;
  double power = pow(signal, 1 / m2);
  return 10000 / white * pow(fmax(power - c1, 0) / (c2 - c3 * power), 1 / m1);
}

/* The brightest light that is told apart, in whites; all above it looks the same. */
static const double brightest = 10;

enum be_status be_av_tones_create(enum AVColorTransferCharacteristic as, struct be_av_tones **out,
                                  const char **range, struct be_err *err)
{
  bool hlg = as == AVCOL_TRC_ARIB_STD_B67;
  *range = NULL;
  if (!hlg && as != AVCOL_TRC_SMPTE2084) return BE_OK;
  struct be_av_tones *tones = *out = be_alloc_array(1, sizeof *tones);
  if (!tones) return be_fail(err, BE_NO_MEMORY, "no memory for the clip");
  *range = hlg ? "HLG" : "PQ";
  tones->scene = hlg;
  for (int i = 0; i < 256; i++)
    tones->light[i] = (float)(hlg ? light_of_hlg(i / 255.0) : light_of_pq(i / 255.0));
  for (int i = 0; i <= STEPS; i++) {
    double share = (double)i / STEPS, light = share * brightest, most = 1 - knee;
    double shown = light <= knee ? light : knee + most * (1 - exp((knee - light) / most));
    tones->bent[i] = (float)(hlg_peak / white * pow(share, hlg_gamma - 1));
    tones->shrink[i] = (float)(light > 0 ? shown / light : 1);
  }
  for (int i = 0; i <= FINE; i++)
    tones->signal[i] = (unsigned char)lrint(255 * pow((double)i / FINE, 1 / shown_gamma));
  return BE_OK;
}

static int step_of(float share, int steps)
{
  return share <= 0 ? 0 : share >= 1 ? steps : (int)(share * (float)steps + 0.5F);
}

static void show(const struct be_av_tones *tones, unsigned char pixel[4])
{
  static const float into[3][3] = {
      {1.6605F, -0.5876F, -0.0728F}, {-0.1246F, 1.1329F, -0.0083F}, {-0.0182F, -0.1006F, 1.1187F}};
  float light[3], shown[3], most = 0;
  for (int i = 0; i < 3; i++) light[i] = tones->light[pixel[2 - i]];
  float sum = 0.2627F * light[0] + 0.6780F * light[1] + 0.0593F * light[2];
  float by = tones->scene ? tones->bent[step_of(sum, STEPS)] : 1;
  for (int i = 0; i < 3; i++) {
    shown[i] = by * (into[i][0] * light[0] + into[i][1] * light[1] + into[i][2] * light[2]);
    most = shown[i] > most ? shown[i] : most;
  }
  float shrink = tones->shrink[step_of(most / (float)brightest, STEPS)];
  if (most > (float)brightest) shrink = 1 / most;
  for (int i = 0; i < 3; i++) pixel[2 - i] = tones->signal[step_of(shrink * shown[i], FINE)];
}

void be_av_tones_apply(const struct be_av_tones *tones, unsigned char *pixels, size_t stride,
                       int width, int height)
{
  unsigned char last[4] = {0}, made[4] = {0};
  show(tones, made);
  for (int y = 0; y < height; y++) {
    unsigned char *pixel = pixels + (size_t)y * stride;
    for (int x = 0; x < width; x++, pixel += 4) {
      if (memcmp(pixel, last, 3) != 0) {
        memcpy(last, pixel, 4);
        memcpy(made, pixel, 4);
        show(tones, made);
      }
      memcpy(pixel, made, 3);
    }
  }
}
