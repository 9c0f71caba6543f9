/* The report as CSV: one line for each reading, move, fact, and bore of a verdict. */
#include "forms.h"

#include "evenbore/format.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct sheet {
  const story *s;
  eb_text *text;
  bool semicolon;
  int fields; /* of the line so far */
} sheet;

/* Quoted where RFC 4180 wants it; guarded where a spreadsheet would take it for a formula; control characters, which it
 * has no room for, written out. */
static void add_field(sheet *out, const char *string)
{
  eb_text safe;
  eb_text_init(&safe, out->text->host);
  eb_text_add_safe(&safe, string, strlen(string), false);
  const char *text = eb_text_string(&safe);
  if (out->fields++ > 0)
    eb_text_add(out->text, out->semicolon ? ";" : ",");
  const char *guard = text[0] != '\0' && strchr("=+-@", text[0]) != NULL ? "'" : "";
  bool quoted = guard[0] != '\0' || strpbrk(text, ",;\"") != NULL;
  eb_text_printf(out->text, "%s%s", quoted ? "\"" : "", guard);
  for (const char *c = text; *c != '\0'; c++)
    if (*c == '"')
      eb_text_add(out->text, "\"\"");
    else
      eb_text_add_bytes(out->text, c, 1);
  eb_text_add(out->text, quoted ? "\"" : "");
  out->text->failed = out->text->failed || safe.failed;
  eb_text_clear(&safe);
}

/* A number is never guarded: its sign is not the begin of a formula. */
static void add_number(sheet *out, const char *number)
{
  char text[EB_FORMAT_SIZE];
  if (out->fields++ > 0)
    eb_text_add(out->text, out->semicolon ? ";" : ",");
  size_t size = strlen(number) < sizeof text ? strlen(number) : sizeof text - 1;
  memcpy(text, number, size);
  text[size] = '\0';
  char *point = strchr(text, '.');
  if (out->semicolon && point != NULL)
    *point = ',';
  eb_text_add(out->text, text);
}

static void add_json(sheet *out, const eb_json *value, double factor, int decimals)
{
  char number[EB_FORMAT_SIZE];
  if (!eb_json_is_number(value))
    add_field(out, "");
  else if (decimals < 0)
    add_number(out, eb_format_plain(eb_json_as_number(value, 0) * factor, number));
  else
    add_number(out, eb_format_fixed(eb_json_as_number(value, 0) * factor, decimals, number));
}

static void begin(sheet *out, size_t index, const char *kind)
{
  char number[EB_FORMAT_SIZE];
  out->fields = 0;
  add_number(out, eb_format_plain((double)(index + 1), number));
  add_field(out, eb_json_get_string(eb_account_record(out->s->account, index), "time", ""));
  add_field(out, kind);
}

static void end(sheet *out, size_t index)
{
  add_field(out, out->s->account->taken_back_by[index] == 0 ? "holds" : "taken back");
  eb_text_add(out->text, "\r\n");
}

static void add_reading(sheet *out, size_t index)
{
  const eb_json *record = eb_account_record(out->s->account, index);
  const eb_json *ask = eb_json_get(record, "ask");
  const eb_json *value = eb_json_get(record, "value");
  begin(out, index, "reading");
  add_field(out, eb_json_get_string(ask, "condition", ""));
  add_json(out, eb_json_get(ask, "pass"), 1, -1);
  add_field(out, eb_json_get_string(ask, "bore", ""));
  add_field(out, "");
  add_json(out, value, 1, -1);
  add_field(out, eb_json_get_string(record, "unit", ""));
  add_field(out, "");
  add_field(out, "");
  add_field(out, eb_json_is_object(value) ? eb_json_get_string(value, "unreadable", "") : "");
  end(out, index);
}

/* A number or a text that was asked for: its title stands where a bore's word does. */
static void add_fact(sheet *out, size_t index)
{
  const eb_json *record = eb_account_record(out->s->account, index);
  const eb_json *ask = eb_json_get(record, "ask");
  const eb_json *value = eb_json_get(record, "value");
  begin(out, index, "fact");
  for (int i = 0; i < 4; i++) /* condition, pass, bore, adjuster */
    add_field(out, "");
  if (eb_json_is_number(value))
    add_json(out, value, 1, -1);
  else
    add_field(out, eb_json_as_string(value, ""));
  add_field(out, eb_json_get_string(record, "unit", ""));
  add_field(out, "");
  add_field(out, "");
  add_field(out, eb_json_get_string(ask, "title", ""));
  end(out, index);
}

static void add_move(sheet *out, size_t index)
{
  char number[EB_FORMAT_SIZE];
  const eb_json *record = eb_account_record(out->s->account, index);
  const eb_json *ask = eb_json_get(record, "ask");
  const eb_json *value = eb_json_get(record, "value");
  const eb_json *amount = eb_json_get(value, "amount");
  begin(out, index, "move");
  add_field(out, eb_json_get_string(ask, "condition", ""));
  add_field(out, "");
  add_field(out, "");
  add_field(out, eb_json_get_string(ask, "adjuster", ""));
  add_json(out, eb_json_is_object(amount) ? eb_json_get(amount, "value") : amount, 1, -1);
  add_field(out, eb_json_get_string(amount, "unit", ""));
  add_number(out, eb_format_fixed(expm1(eb_json_get_number(ask, "move", 0)) * 100, 2, number));
  add_field(out, "");
  add_field(out, eb_json_get_bool(value, "done", false) ? "done" : eb_json_get_string(value, "why", "not done"));
  end(out, index);
}

static void add_verdict(sheet *out, size_t index, const eb_json *verdict)
{
  /* A length that was measured cold has a unit of its own. */
  const char *gauge = eb_json_get_string(eb_json_get(out->s->open, "gauge"), "unit", "");
  const char *unit = eb_json_get_string(verdict, "unit", gauge);
  const eb_json *bore = eb_json_first(eb_json_get(verdict, "bores"));
  for (; bore != NULL; bore = eb_json_next(bore)) {
    begin(out, index, "verdict");
    add_field(out, eb_json_get_string(verdict, "condition", ""));
    add_field(out, "");
    add_field(out, eb_json_key(bore));
    add_field(out, "");
    add_json(out, eb_json_get(bore, "value"), 1, -1);
    add_field(out, eb_json_is_number(eb_json_get(bore, "value")) ? unit : "");
    add_json(out, eb_json_get(bore, "deviation"), 100, 2);
    add_json(out, eb_json_get(bore, "doubt"), 100, 2);
    add_field(out, eb_json_get_string(bore, "word", ""));
    end(out, index);
  }
}

void form_csv(const story *s, bool semicolon, eb_text *text)
{
  static const char *const heads[] = {"record",        "time",     "kind",  "condition", "pass",
                                      "bore",          "adjuster", "value", "unit",      "deviation_percent",
                                      "doubt_percent", "word",     "state"};
  sheet out = {.s = s, .text = text, .semicolon = semicolon};
  for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++)
    add_field(&out, heads[i]);
  eb_text_add(text, "\r\n");
  for (size_t i = 0; i < s->account->count; i++) {
    const eb_json *record = eb_account_record(s->account, i);
    const char *kind = eb_json_get_string(eb_json_get(record, "ask"), "kind", "");
    const eb_json *verdict = eb_json_get(eb_json_get(record, "message"), "verdict");
    if (strcmp(kind, "reading") == 0)
      add_reading(&out, i);
    else if (strcmp(kind, "adjust") == 0)
      add_move(&out, i);
    else if (strcmp(kind, "number") == 0 || strcmp(kind, "text") == 0)
      add_fact(&out, i);
    else if (eb_json_is_object(verdict) &&
             strcmp(eb_json_get_string(eb_json_get(record, "message"), "kind", ""), "verdict") == 0)
      add_verdict(&out, i, verdict);
  }
}
