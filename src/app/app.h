/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BE_APP_H
#define BE_APP_H
#include "base/base.h"
#endif
