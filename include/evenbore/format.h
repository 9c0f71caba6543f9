/* Format: numbers and times as people read them, the same in every locale. */
#ifndef EVENBORE_FORMAT_H
#define EVENBORE_FORMAT_H

#include "evenbore/json.h"

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

enum { EB_FORMAT_SIZE = 48 };

/* Plain: up to six decimals, none that say nothing. Fixed: exactly so many. Both return `text`. */
const char *eb_format_plain(double value, char text[EB_FORMAT_SIZE]);
const char *eb_format_fixed(double value, int decimals, char text[EB_FORMAT_SIZE]);
/* To two significant digits, as what is about right. */
const char *eb_format_about(double value, char text[EB_FORMAT_SIZE]);
/* A relative change as "+8.1 %"; as "8.1 %" where no sign is wanted. */
double eb_format_round_up(double claim); /* to tenths of a per cent: a claim is never told better than it is */
const char *eb_format_percent(double relative, bool sign, char text[EB_FORMAT_SIZE]);

/* An answer's value (a number, true, an option, {value, unit}, {done}, ...) in words, cut to the buffer. */
const char *eb_format_value(const eb_json *value, const char *unit, char *text, size_t size);

/* Milliseconds since 1970 of an RFC 3339 time; 0 where it is none. */
int64_t eb_format_time_ms(const char *time);
/* "2026-11-04 09:12" and "09:12" of an RFC 3339 time; "?" where it is none. */
const char *eb_format_date(const char *time, char text[EB_FORMAT_SIZE]);
const char *eb_format_clock(const char *time, char text[EB_FORMAT_SIZE]);

#ifdef __cplusplus
}
#endif
#endif
