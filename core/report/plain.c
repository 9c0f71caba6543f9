/* The report as text: for a terminal, a mail, a printer without graphics. */
#include "forms.h"

#include "evenbore/format.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { COLUMNS = 80 };

/* Words of `string` in lines of at most COLUMNS, the first after what stands on the line, the rest indented. */
static void add_wrapped(eb_text *text, size_t column, size_t indent, const char *string)
{
  eb_text safe;
  eb_text_init(&safe, text->host);
  eb_text_add_safe(&safe, string, strlen(string), false);
  bool first = true;
  char *rest = NULL;
  for (char *word = safe.bytes == NULL ? NULL : strtok_r(safe.bytes, " ", &rest); word != NULL;
       word = strtok_r(NULL, " ", &rest)) {
    size_t columns = eb_utf8_columns(word);
    if (!first && column + 1 + columns > COLUMNS) {
      eb_text_printf(text, "\n%*s", (int)indent, "");
      column = indent;
      first = true;
    }
    eb_text_printf(text, "%s%s", first ? "" : " ", word);
    column += columns + (first ? 0 : 1);
    first = false;
  }
  eb_text_add(text, "\n");
  text->failed = text->failed || safe.failed;
  eb_text_clear(&safe);
}

static void add_pair(eb_text *text, const char *name, const char *value)
{
  if (value[0] == '\0')
    return;
  eb_text_printf(text, "%-11s", name);
  add_wrapped(text, 11, 11, value);
}

static void add_bores(const story *s, const story_verdict *verdict, const char *title, eb_text *text)
{
  char number[EB_FORMAT_SIZE], share[EB_FORMAT_SIZE], doubt[EB_FORMAT_SIZE];
  if (verdict == NULL || !s->has_layout)
    return;
  eb_text_printf(text, "\n%s (record %zu): greatest deviation %s\n", title, verdict->record,
                 eb_format_percent(verdict->spread, false, number));
  for (int i = 0; i < s->layout.bore_count; i++) {
    const eb_json *bore = eb_json_get(eb_json_get(verdict->verdict, "bores"), s->layout.bore[i]);
    const eb_json *value = eb_json_get(bore, "value");
    bool counts = eb_json_is_number(eb_json_get(bore, "deviation"));
    eb_text_printf(text, "  bore %-6s %8s  %9s %s%-6s %s\n", s->layout.bore[i],
                   eb_json_is_number(value) ? story_value(value, number) : "-",
                   counts ? eb_format_percent(eb_json_get_number(bore, "deviation", 0), true, share) : "-",
                   counts ? "\xc2\xb1" : " ",
                   counts ? eb_format_fixed(eb_json_get_number(bore, "doubt", 0) * 100, 1, doubt) : "",
                   eb_json_get_string(bore, "word", "not read"));
  }
}

static void add_moves(const story *s, eb_text *text)
{
  char number[EB_FORMAT_SIZE];
  char line[800];
  eb_text_add(text, s->move_count == 0 ? "\nNothing was adjusted.\n" : "\nAdjustments\n");
  for (size_t i = 0; i < s->move_count; i++) {
    const story_move *move = &s->move[i];
    const char *id = eb_json_get_string(move->ask, "adjuster", "?");
    int k = s->has_layout ? eb_layout_adjuster(&s->layout, id) : -1;
    bool done = eb_json_get_bool(move->value, "done", false);
    snprintf(line, sizeof line, "%.80s: wished %s%s%.300s (record %zu)", k < 0 ? id : s->layout.adjuster[k].title,
             eb_format_percent(expm1(eb_json_get_number(move->ask, "move", 0)), true, number),
             done ? ", done" : ", not done: ", done ? "" : eb_json_get_string(move->value, "why", "?"), move->record);
    eb_text_add(text, "  ");
    add_wrapped(text, 2, 4, line);
  }
}

static void add_records(const story *s, const char *kind, const char *title, eb_text *text)
{
  char line[2600], value[400];
  size_t count = 0;
  for (size_t i = 0; i < s->account->count; i++) {
    const eb_json *record = eb_account_record(s->account, i);
    const eb_json *ask = eb_json_get(record, "ask");
    bool note = strcmp(kind, "note") == 0 && eb_account_is(s->account, i, "note");
    if (s->account->taken_back_by[i] != 0 || (!note && strcmp(eb_json_get_string(ask, "kind", ""), kind) != 0))
      continue;
    if (count++ == 0)
      eb_text_printf(text, "\n%s\n", title);
    if (note)
      snprintf(line, sizeof line, "%.2000s (record %zu)", eb_json_get_string(record, "text", ""), i + 1);
    else if (strcmp(kind, "caution") == 0)
      snprintf(line, sizeof line, "%.200s (record %zu)", eb_json_get_string(ask, "title", "?"), i + 1);
    else
      snprintf(
          line, sizeof line, "%.200s: %s (record %zu)", eb_json_get_string(ask, "title", "?"),
          eb_format_value(eb_json_get(record, "value"), eb_json_get_string(record, "unit", ""), value, sizeof value),
          i + 1);
    eb_text_add(text, "  ");
    add_wrapped(text, 2, 4, line);
  }
}

static void add_head(const story *s, eb_text *text)
{
  char date[EB_FORMAT_SIZE];
  char line[400];
  const eb_json *procedure = eb_json_get(s->open, "procedure");
  eb_text_add(text, "Airflow record\n");
  add_pair(text, "engine", eb_json_get_string(eb_json_get(s->open, "inputs"), "engine", ""));
  add_pair(text, "date", eb_format_date(eb_json_get_string(s->open, "time", ""), date));
  snprintf(line, sizeof line, "%.120s (%.60s %.60s)", eb_json_get_string(procedure, "title", "?"),
           eb_json_get_string(procedure, "id", "?"), eb_json_get_string(procedure, "version", "?"));
  add_pair(text, "procedure", line);
  add_pair(text, "session", eb_json_get_string(s->open, "session", "?"));
  snprintf(line, sizeof line, "%zu records, digest %.64s", s->account->count, eb_journal_digest(s->account->journal));
  add_pair(text, "journal", line);
  eb_text_add(text, "\n");
}

void form_text(const story *s, eb_text *text)
{
  eb_text sentence;
  eb_text_init(&sentence, text->host);
  add_head(s, text);
  story_sentence(s, &sentence);
  eb_text_add(&sentence, ".");
  add_wrapped(text, 0, 0, eb_text_string(&sentence));
  text->failed = text->failed || sentence.failed;
  eb_text_clear(&sentence);
  const story_verdict *first = story_first(s);
  const story_verdict *last = story_last(s);
  add_bores(s, first, "Before", text);
  if (last != first)
    add_bores(s, last, s->end == NULL ? "At the last verdict" : "After", text);
  add_moves(s, text);
  add_records(s, "number", "Facts", text);
  add_records(s, "caution", "Cautions acknowledged", text);
  add_records(s, "note", "Notes", text);
}
