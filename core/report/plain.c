/* The report as text: for a terminal, a mail, a printer without graphics. */
#include "forms.h"

#include "evenbore/format.h"
#include "evenbore/gauge.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { COLUMNS = 80 };

/* Words of `string` in lines of at most COLUMNS, the first after what stands on the line, the rest indented. */
void plain_wrapped(eb_text *text, size_t column, size_t indent, const char *string)
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

void plain_pair(eb_text *text, const char *name, const char *value)
{
  if (value[0] == '\0')
    return;
  eb_text_printf(text, "%-11s", name);
  plain_wrapped(text, 11, 11, value);
}

/* One line of a table, with whatever a journal says made safe. */
__attribute__((format(printf, 2, 3))) static void add_line(eb_text *text, const char *format, ...)
{
  char line[1200];
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(line, sizeof line, format, arguments);
  va_end(arguments);
  eb_text_add_safe(text, line, strlen(line), false);
  eb_text_add(text, "\n");
}

/* `string` and blanks to so many columns. */
static const char *padded(const char *string, size_t columns, char text[200])
{
  size_t has = eb_utf8_columns(string);
  snprintf(text, 200, "%.150s%*s", string, has < columns ? (int)(columns - has) : 0, "");
  return text;
}

static void add_bores(const story *s, const story_verdict *verdict, const char *title, eb_text *text)
{
  char number[EB_FORMAT_SIZE], share[EB_FORMAT_SIZE], doubt[EB_FORMAT_SIZE], name[200];
  if (verdict == NULL || !s->has_layout)
    return;
  eb_text_add(text, "\n");
  add_line(text, "%s (record %zu): greatest deviation %s; readings in %.20s", title, verdict->record,
           eb_format_percent(verdict->spread, false, number), story_unit(s, verdict));
  for (int i = 0; i < s->layout.bore_count; i++) {
    const eb_json *bore = eb_json_get(eb_json_get(verdict->verdict, "bores"), s->layout.bore[i]);
    const eb_json *value = eb_json_get(bore, "value");
    bool counts = eb_json_is_number(eb_json_get(bore, "deviation"));
    add_line(text, "  bore %s %8s  %9s %s%-6s %.40s", padded(s->layout.bore[i], 6, name),
             eb_json_is_number(value) ? story_value(value, number) : "-",
             counts ? eb_format_percent(eb_json_get_number(bore, "deviation", 0), true, share) : "-",
             counts ? "\xc2\xb1" : " ",
             counts ? eb_format_fixed(eb_json_get_number(bore, "doubt", 0) * 100, 1, doubt) : "",
             eb_json_get_string(bore, "word", "not read"));
  }
}

static void add_course(const story *s, eb_text *text)
{
  char spread[EB_FORMAT_SIZE], claim[EB_FORMAT_SIZE], condition[200];
  eb_text_add(
      text, s->verdict_count == 0 ? "" : "\nVerdicts, in their order: greatest deviation, claim, adjustments before\n");
  for (size_t i = 0; i < s->verdict_count; i++) {
    const story_verdict *v = &s->verdict[i];
    add_line(text, "  %s %7s %7s %4zu (record %zu)", padded(v->condition, 14, condition),
             eb_format_percent(v->spread, false, spread),
             v->claim < 1 ? eb_format_percent(eb_format_round_up(v->claim), false, claim) : "none", v->moves_before,
             v->record);
  }
}

static void add_effects(const story *s, eb_text *text)
{
  char share[EB_FORMAT_SIZE], doubt[EB_FORMAT_SIZE], name[200];
  const story_verdict *last = story_last(s);
  const eb_json *contrast = last == NULL ? NULL : eb_json_first(eb_json_get(last->verdict, "contrasts"));
  if (contrast == NULL)
    return;
  eb_text_add(text, "\n");
  add_line(text, "Parts: first side against second, a lone bore against its group (record %zu)", last->record);
  for (; contrast != NULL; contrast = eb_json_next(contrast)) {
    const char *id = eb_json_get_string(contrast, "adjuster", "?");
    int k = s->has_layout ? eb_layout_adjuster(&s->layout, id) : -1;
    add_line(text, "  %s %-5.8s %9s \xc2\xb1%s", padded(k < 0 ? id : s->layout.adjuster[k].title, 24, name),
             eb_json_get_string(contrast, "level", "?"),
             eb_format_percent(eb_json_get_number(contrast, "value", 0), true, share),
             eb_format_fixed(eb_json_get_number(contrast, "doubt", 0) * 100, 1, doubt));
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
    plain_wrapped(text, 2, 4, line);
  }
}

static void add_group(eb_text *text, const char *title, const char *answers)
{
  eb_text line;
  eb_text_init(&line, text->host);
  eb_text_printf(&line, "%s: %s", title, answers);
  eb_text_add(text, "  ");
  plain_wrapped(text, 2, 4, eb_text_string(&line));
  text->failed = text->failed || line.failed;
  eb_text_clear(&line);
}

static void add_groups(const story *s, const char *title, const char *first, const char *second, eb_text *text)
{
  const char *const kinds[] = {first, second, NULL};
  eb_text list;
  eb_text_init(&list, text->host);
  groups_each(s, kinds, add_group, &list);
  if (list.size > 0)
    eb_text_printf(text, "\n%s (in brackets: records)\n%s", title, list.bytes);
  text->failed = text->failed || list.failed;
  eb_text_clear(&list);
}

static void add_taken_back(const story *s, eb_text *text)
{
  char line[1000], answer[600];
  size_t count = 0;
  for (size_t i = 0; i < s->account->count; i++) {
    if (s->account->taken_back_by[i] == 0 || !eb_account_is(s->account, i, "answer"))
      continue;
    eb_text_add(text, count++ == 0 ? "\nTaken back\n  " : "  ");
    snprintf(line, sizeof line, "%.200s: %s (record %zu, by record %zu)",
             eb_json_get_string(eb_json_get(eb_account_record(s->account, i), "ask"), "title", "?"),
             story_answer(s, i, answer, sizeof answer), i + 1, s->account->taken_back_by[i]);
    plain_wrapped(text, 2, 4, line);
  }
}

static void add_notes(const story *s, eb_text *text)
{
  char line[2600];
  size_t count = 0;
  for (size_t i = 0; i < s->account->count; i++) {
    if (!eb_account_is(s->account, i, "note"))
      continue;
    eb_text_add(text, count++ == 0 ? "\nNotes\n  " : "  ");
    snprintf(line, sizeof line, "%.2400s (record %zu)",
             eb_json_get_string(eb_account_record(s->account, i), "text", ""), i + 1);
    plain_wrapped(text, 2, 4, line);
  }
}

static void add_wanted(const story *s, eb_text *text)
{
  char line[200], wanted[EB_FORMAT_SIZE], risk[EB_FORMAT_SIZE];
  snprintf(line, sizeof line, "every bore within %s of their mean, at a risk of %s of being wrong",
           eb_format_percent(eb_json_get_number(s->open, "tolerance", 0), false, wanted),
           eb_format_percent(eb_json_get_number(s->open, "risk", 0), false, risk));
  plain_pair(text, "wanted", line);
}

static void add_head(const story *s, eb_text *text)
{
  char date[EB_FORMAT_SIZE];
  char line[400];
  const eb_json *procedure = eb_json_get(s->open, "procedure");
  eb_text_add(text, "Airflow record\n");
  plain_pair(text, "engine", eb_json_get_string(eb_json_get(s->open, "inputs"), "engine", ""));
  plain_pair(text, "date", eb_format_date(eb_json_get_string(s->open, "time", ""), date));
  snprintf(line, sizeof line, "%.120s (%.60s %.60s)", eb_json_get_string(procedure, "title", "?"),
           eb_json_get_string(procedure, "id", "?"), eb_json_get_string(procedure, "version", "?"));
  plain_pair(text, "procedure", line);
  snprintf(line, sizeof line, "SHA-256 %.64s", eb_json_get_string(procedure, "digest", "?"));
  plain_pair(text, "", line);
  story_maker(s, line, sizeof line);
  plain_pair(text, "maker", line);
  plain_pair(text, "program", eb_json_get_string(s->open, "program", "?"));
  plain_pair(text, "gauge", eb_gauge_describe(eb_json_get(s->open, "gauge"), line, sizeof line));
  add_wanted(s, text);
  plain_pair(text, "session", eb_json_get_string(s->open, "session", "?"));
  snprintf(line, sizeof line, "%zu records, digest %.64s", s->account->count, eb_journal_digest(s->account->journal));
  plain_pair(text, "journal", line);
  eb_text known;
  eb_text_init(&known, text->host);
  story_known(s, &known);
  plain_pair(text, "known", eb_text_string(&known));
  text->failed = text->failed || known.failed;
  eb_text_clear(&known);
  eb_text_add(text, "\n");
}

static void add_warning(eb_text *text, const char *line)
{
  plain_wrapped(text, 0, 0, line);
}

static void add_claim(const story *s, eb_text *text)
{
  eb_text sentence;
  eb_text_init(&sentence, text->host);
  story_sentence(s, &sentence);
  eb_text_add(&sentence, ".");
  plain_wrapped(text, 0, 0, eb_text_string(&sentence));
  text->failed = text->failed || sentence.failed;
  eb_text_clear(&sentence);
  story_warnings(s, add_warning, text);
  if (s->end != NULL)
    plain_wrapped(text, 0, 0, eb_json_get_string(s->end, "summary", ""));
}

void form_text(const story *s, eb_text *text)
{
  add_head(s, text);
  add_claim(s, text);
  const story_verdict *first = story_first(s);
  const story_verdict *last = story_last(s);
  add_bores(s, first, "Before", text);
  if (last != first)
    add_bores(s, last, s->end == NULL ? "At the last verdict" : "After", text);
  add_course(s, text);
  add_moves(s, text);
  add_effects(s, text);
  add_groups(s, "Conditions", "number", "text", text);
  add_groups(s, "Checks and choices", "confirm", "choose", text);
  add_groups(s, "Cautions acknowledged", "caution", NULL, text);
  add_taken_back(s, text);
  add_notes(s, text);
}
