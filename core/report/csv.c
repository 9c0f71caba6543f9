/* The report as CSV: one line for each reading, move, fact, and bore of a verdict. */
#include "forms.h"
#include "sheet.h"

#include "evenbore/format.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The sheet of one session. */
typedef struct session_sheet {
  const story *s;
  sheet sheet;
} session_sheet;

static void add_json(session_sheet *out, const eb_json *value, double factor, int decimals)
{
  char number[EB_FORMAT_SIZE];
  if (!eb_json_is_number(value))
    sheet_field(&out->sheet, "");
  else if (decimals < 0)
    sheet_number(&out->sheet, eb_format_plain(eb_json_as_number(value, 0) * factor, number));
  else
    sheet_number(&out->sheet, eb_format_fixed(eb_json_as_number(value, 0) * factor, decimals, number));
}

static void begin(session_sheet *out, size_t index, const char *kind)
{
  char number[EB_FORMAT_SIZE];
  sheet_number(&out->sheet, eb_format_plain((double)(index + 1), number));
  sheet_field(&out->sheet, eb_json_get_string(eb_account_record(out->s->account, index), "time", ""));
  sheet_field(&out->sheet, kind);
}

static void end(session_sheet *out, size_t index)
{
  sheet_field(&out->sheet, out->s->account->taken_back_by[index] == 0 ? "holds" : "taken back");
  sheet_end(&out->sheet);
}

static void add_reading(session_sheet *out, size_t index)
{
  const eb_json *record = eb_account_record(out->s->account, index);
  const eb_json *ask = eb_json_get(record, "ask");
  const eb_json *value = eb_json_get(record, "value");
  begin(out, index, "reading");
  sheet_field(&out->sheet, eb_json_get_string(ask, "condition", ""));
  add_json(out, eb_json_get(ask, "pass"), 1, -1);
  sheet_field(&out->sheet, eb_json_get_string(ask, "bore", ""));
  sheet_field(&out->sheet, "");
  add_json(out, value, 1, -1);
  bool opened = strcmp(eb_json_get_string(ask, "pushed", ""), "open") == 0;
  sheet_field(&out->sheet, eb_json_get_string(record, "unit", ""));
  sheet_field(&out->sheet, "");
  sheet_field(&out->sheet, "");
  sheet_field(&out->sheet, eb_json_get_string(value, "unreadable", opened ? "pushed open: not of the balance" : ""));
  end(out, index);
}

/* A number or a text that was asked for: its title stands where a bore's word does. */
static void add_fact(session_sheet *out, size_t index)
{
  const eb_json *record = eb_account_record(out->s->account, index);
  const eb_json *ask = eb_json_get(record, "ask");
  const eb_json *value = eb_json_get(record, "value");
  begin(out, index, "fact");
  for (int i = 0; i < 4; i++) /* condition, pass, bore, adjuster */
    sheet_field(&out->sheet, "");
  if (eb_json_is_number(value))
    add_json(out, value, 1, -1);
  else
    sheet_field(&out->sheet, eb_json_as_string(value, ""));
  sheet_field(&out->sheet, eb_json_get_string(record, "unit", ""));
  sheet_field(&out->sheet, "");
  sheet_field(&out->sheet, "");
  sheet_field(&out->sheet, eb_json_get_string(ask, "title", ""));
  end(out, index);
}

static void add_move(session_sheet *out, size_t index)
{
  char number[EB_FORMAT_SIZE];
  const eb_json *record = eb_account_record(out->s->account, index);
  const eb_json *ask = eb_json_get(record, "ask");
  const eb_json *value = eb_json_get(record, "value");
  const eb_json *amount = eb_json_get(value, "amount");
  begin(out, index, "move");
  sheet_field(&out->sheet, eb_json_get_string(ask, "condition", ""));
  sheet_field(&out->sheet, "");
  sheet_field(&out->sheet, "");
  sheet_field(&out->sheet, eb_json_get_string(ask, "adjuster", ""));
  add_json(out, eb_json_is_object(amount) ? eb_json_get(amount, "value") : amount, 1, -1);
  sheet_field(&out->sheet, eb_json_get_string(amount, "unit", ""));
  sheet_number(&out->sheet, eb_format_fixed(expm1(eb_json_get_number(ask, "move", 0)) * 100, 2, number));
  sheet_field(&out->sheet, "");
  sheet_field(&out->sheet,
              eb_json_get_bool(value, "done", false) ? "done" : eb_json_get_string(value, "why", "not done"));
  end(out, index);
}

static void add_verdict(session_sheet *out, size_t index, const eb_json *verdict)
{
  /* A length that was measured cold has a unit of its own. */
  const char *gauge = eb_json_get_string(eb_json_get(out->s->open, "gauge"), "unit", "");
  const char *unit = eb_json_get_string(verdict, "unit", gauge);
  const eb_json *bore = eb_json_first(eb_json_get(verdict, "bores"));
  for (; bore != NULL; bore = eb_json_next(bore)) {
    begin(out, index, "verdict");
    sheet_field(&out->sheet, eb_json_get_string(verdict, "condition", ""));
    sheet_field(&out->sheet, "");
    sheet_field(&out->sheet, eb_json_key(bore));
    sheet_field(&out->sheet, "");
    add_json(out, eb_json_get(bore, "value"), 1, -1);
    sheet_field(&out->sheet, eb_json_is_number(eb_json_get(bore, "value")) ? unit : "");
    add_json(out, eb_json_get(bore, "deviation"), 100, 2);
    add_json(out, eb_json_get(bore, "doubt"), 100, 2);
    sheet_field(&out->sheet, eb_json_get_string(bore, "word", ""));
    end(out, index);
  }
}

void form_csv(const story *s, bool semicolon, eb_text *text)
{
  static const char *const heads[] = {"record",        "time",     "kind",  "condition", "pass",
                                      "bore",          "adjuster", "value", "unit",      "deviation_percent",
                                      "doubt_percent", "word",     "state"};
  session_sheet out = {.s = s, .sheet = {.text = text, .semicolon = semicolon}};
  for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++)
    sheet_field(&out.sheet, heads[i]);
  sheet_end(&out.sheet);
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
