/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The table that the module is. */
#include "film/av/inside.h"

#include <libavutil/log.h>

const struct be_film be_film_module = {
    .version = BE_FILM_VERSION,
    .coder = LIBAVCODEC_IDENT " " LIBAVFORMAT_IDENT,
    .code_begin = be_av_code_begin,
    .code_frame = be_av_code_frame,
    .code_end = be_av_code_end,
    .code_drop = be_av_code_drop,
    .join_begin = be_av_join_begin,
    .join_segment = be_av_join_segment,
    .join_end = be_av_join_end,
    .join_drop = be_av_join_drop,
    .comment = be_av_comment,
    .sound_read = be_av_sound_read,
    .sound_free = be_av_sound_free,
    .footage_open = be_av_footage_open,
    .footage_seek = be_av_footage_seek,
    .footage_next = be_av_footage_next,
    .footage_close = be_av_footage_close,
};

/* The libraries print by themselves unless they are told not to; what went wrong is in err. */
static void __attribute__((constructor)) keep_silent(void)
{
  av_log_set_level(AV_LOG_QUIET);
}
