// SPDX-License-Identifier: GPL-3.0-or-later
// In place of the turning view where it could not be bundled: the page keeps its still picture.
export const show = null;
