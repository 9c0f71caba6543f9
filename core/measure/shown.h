/* Text that came from outside, as a message may show it. */
#ifndef MEASURE_SHOWN_H
#define MEASURE_SHOWN_H

#include <stddef.h>

enum { SHOWN_SIZE = 168 }; /* 40 characters of up to 4 bytes, with the NUL */

/* At most 40 characters, unprintable ones spelled out as \xNN or \u{NNNN}; returns `shown`. */
const char *measure_shown(const char *bytes, size_t size, char shown[SHOWN_SIZE]);

#endif
