/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BE_KNOT_INVARIANT_INSIDE_H
#define BE_KNOT_INVARIANT_INSIDE_H

#include "knot/invariant/invariant.h"

#endif
