/* Fields: what a shop's file may hold, as a table: the check of a file, a value from the command line, what is shown
 * and the help all go by it. */
#ifndef EVENBORE_FIELDS_H
#define EVENBORE_FIELDS_H

#include "page.h"

#include "evenbore/habits.h"
#include "evenbore/json.h"
#include "evenbore/quantity.h"
#include "evenbore/status.h"

#include <stdbool.h>

typedef enum eb_field_kind {
  EB_FIELD_TEXT,   /* of at most `high` characters */
  EB_FIELD_NUMBER, /* from `low` to `high`, in `unit` */
  EB_FIELD_COUNT,  /* the same, whole */
  EB_FIELD_SHARE,  /* a relative number, typed in percent */
  EB_FIELD_PAIR,   /* two numbers, the lower first */
  EB_FIELD_UNIT,   /* a unit of `quantity`, one of `unit`: "mm|thou" */
  EB_FIELD_GROUP,  /* an object with fields of its own */
  EB_FIELD_LIST,   /* a list of such objects */
  EB_FIELD_TEXTS,  /* an object of texts by any key */
  EB_FIELD_VALUES  /* an object of texts, numbers, true and false by any key */
} eb_field_kind;

typedef struct eb_field {
  const char *key;
  const char *group; /* the field that holds it; "": the file itself */
  eb_field_kind kind;
  double low, high;
  eb_quantity quantity;
  const char *unit;
  bool required;
  bool own;         /* the program's: not to be typed */
  const char *what; /* for the help */
  const char *example;
} eb_field;

typedef struct eb_format {
  const char *word;    /* "evenbore-engine" */
  const char *article; /* "an engine" */
  const eb_field *fields;
  size_t count;
} eb_format;

/* A file's text that is being looked at; `text` NULL: a value of the program's own making, which has no lines. */
typedef struct eb_looked_at {
  const char *name, *text;
  size_t size;
} eb_looked_at;

/* Fails at the line of what `pointer` names. */
#if defined(__GNUC__)
__attribute__((format(printf, 5, 6)))
#endif
eb_status
eb_fields_refuse(eb_error *error, eb_status status, const eb_looked_at *at, const char *pointer, const char *format,
                 ...);

/* "throttle.bore_mm", as it is typed. */
enum { EB_FIELD_NAME_SIZE = 48 };
const char *eb_field_name(const eb_field *field, char name[EB_FIELD_NAME_SIZE]);

/* "a number from 300 to 3000 rpm" */
enum { EB_FIELD_WANTED_SIZE = 200 };
const char *eb_field_wanted(const eb_field *field, char wanted[EB_FIELD_WANTED_SIZE]);

/* Whether a value is what the field wants, the fields inside of it aside. EB_BAD_VALUE (its type), EB_OUT_OF_RANGE. */
eb_status eb_field_check(const eb_field *field, const eb_json *value);

/* Format word, version, and every member by the table. */
eb_status eb_fields_check(const eb_format *format, const eb_looked_at *at, const eb_json *file, eb_error *error);

/* An empty file of that format. Owned by the caller; NULL when memory runs out. */
eb_json *eb_fields_new(const eb_format *format);

/* Sets one value from words as they are typed, "idle_rpm=870", "bore_mm=1.9in", "bores.7=new seal", "unit=": an empty
 * one takes it out.  EB_BAD_VALUE, EB_BAD_UNIT, EB_OUT_OF_RANGE point at the words. */
eb_status eb_fields_type(const eb_format *format, eb_json *file, const char *words, eb_error *error);

/* Shows all that the file holds, numbers in the shop's units. */
void eb_fields_show(eb_page *page, const eb_format *format, const eb_json *file, const eb_habits *habits);

/* What can be written, a field a line. */
void eb_fields_help(eb_page *page, const eb_format *format);

#endif
