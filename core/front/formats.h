/* Formats: the shop's files as tables. */
#ifndef EVENBORE_FORMATS_H
#define EVENBORE_FORMATS_H

#include "fields.h"

extern const eb_format eb_format_engine, eb_format_gauge, eb_format_habits;

/* By the table, and what of it must fit together. */
eb_status eb_format_check(const eb_format *format, const eb_looked_at *at, const eb_json *file, eb_error *error);

#endif
