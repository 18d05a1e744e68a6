/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BE_RIG_CALIBRATION_INSIDE_H
#define BE_RIG_CALIBRATION_INSIDE_H

#include "rig/calibration/calibration.h"

/* How steeply the reading rises, and the variance of the curve in units of the
 * residual variance. */
double be_calibration_slope(const struct be_calibration_fit *fit, double load_N);
double be_calibration_leverage(const struct be_calibration_fit *fit, double load_N);
/* The reading as a force; itself when fit is null. */
double be_calibration_force(const struct be_calibration_fit *fit, double reading);

#endif
