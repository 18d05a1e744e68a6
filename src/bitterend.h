/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The whole library in one header: #include <bitterend/bitterend.h>, with the
 * flags of `pkg-config bitterend`. Each room's header can be had by itself. */
#ifndef BITTEREND_H
#define BITTEREND_H

#include "app/app.h"
#include "base/base.h"
#include "book/book.h"
#include "chart/chart.h"
#include "press/press.h"
#include "rig/rig.h"
#include "stats/stats.h"
#include "trace/trace.h"
#include "units/units.h"

#endif
