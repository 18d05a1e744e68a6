/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "mixed_rows.h"
int main(void){return 0;}
