/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The files of one book entered into another as they were there. */
#include "book_test.h"
#include "fault/failing.h"
