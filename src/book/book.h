/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BE_BOOK_H
#define BE_BOOK_H
#include "base/base.h"
#endif
