/* The tables of a page: adjustments, effects, and what people acknowledged, took back and wrote down. */
#include "forms.h"
#include "html.h"

#include "evenbore/format.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* "+3.1 %" of a contrast in ln; with its doubt where that is above 0. */
static const char *say_contrast(double value, double doubt, char text[EB_FORMAT_SIZE * 2])
{
  char share[EB_FORMAT_SIZE], around[EB_FORMAT_SIZE];
  eb_format_percent(expm1(value), true, share);
  if (doubt > 0)
    snprintf(text, (size_t)EB_FORMAT_SIZE * 2, "%s \xc2\xb1%s", share, eb_format_fixed(doubt * 100, 1, around));
  else
    snprintf(text, (size_t)EB_FORMAT_SIZE * 2, "%s", share);
  return text;
}

static const eb_adjuster *adjuster_of(const story *s, const char *id)
{
  int k = s->has_layout ? eb_layout_adjuster(&s->layout, id) : -1;
  return k < 0 ? NULL : &s->layout.adjuster[k];
}

static void cell_contrast(const story *s, const story_verdict *verdict, const eb_adjuster *adjuster, eb_text *page)
{
  double value, doubt;
  char text[EB_FORMAT_SIZE * 2];
  bool known = verdict != NULL && adjuster != NULL &&
               story_contrast(s, eb_json_get(verdict->verdict, "bores"), adjuster, &value, &doubt);
  html_number(page, known ? say_contrast(value, doubt, text) : "\xe2\x80\x93");
}

static void cell_expected(const story *s, const story_move *move, const eb_adjuster *adjuster, eb_text *page)
{
  double value;
  char text[EB_FORMAT_SIZE * 2];
  bool known = adjuster != NULL && story_expected(s, move->plan, adjuster, &value);
  html_number(page, known ? say_contrast(value, 0, text) : "\xe2\x80\x93");
}

/* "closed by 0.0033 mm of feeler gap", with "about" where it is what was wished; "set to 0.12 mm" where that was. */
static void say_amount(const eb_json *amount, bool wished, bool to, char *text, size_t size)
{
  char number[EB_FORMAT_SIZE];
  const char *unit = eb_json_get_string(amount, "unit", "");
  const char *what = eb_json_get_string(amount, "what", "");
  bool named = what[0] != '\0' && strcmp(what, unit) != 0;
  double value = eb_json_is_number(amount) ? eb_json_as_number(amount, 0) : eb_json_get_number(amount, "value", 0);
  snprintf(text, size, "%s %s%s %.40s%s%.60s",
           to          ? "set to"
           : value < 0 ? "closed by"
                       : "opened by",
           wished ? "about " : "", eb_format_about(fabs(value), number), unit, named ? " of " : "", named ? what : "");
}

static void cell_done(const story_move *move, eb_text *page)
{
  char text[400] = "done";
  const eb_json *amount = eb_json_get(move->value, "amount");
  const eb_json *wished = eb_json_get(move->ask, "amount");
  bool to = eb_json_get_bool(wished, "to", false);
  if (!eb_json_get_bool(move->value, "done", false))
    snprintf(text, sizeof text, "not done: %.300s", eb_json_get_string(move->value, "why", "?"));
  else if (eb_json_is_object(amount) || eb_json_is_number(amount))
    say_amount(amount, false, to, text, sizeof text);
  else if (eb_json_is_object(wished))
    say_amount(wished, true, to, text, sizeof text);
  html_cell(page, text);
}

static void write_move(const story *s, const story_move *move, size_t number, eb_text *page)
{
  char text[EB_FORMAT_SIZE * 2];
  const char *id = eb_json_get_string(move->ask, "adjuster", "?");
  const eb_adjuster *adjuster = adjuster_of(s, id);
  eb_text_add(page, "<tr><th scope=\"row\">");
  if (number > 0)
    eb_text_printf(page, "A%zu ", number);
  html_text(page, adjuster == NULL ? id : adjuster->title);
  eb_text_add(page, "</th>");
  html_number(page, say_contrast(eb_json_get_number(move->ask, "move", 0), 0, text));
  cell_done(move, page);
  cell_contrast(s, move->before, adjuster, page);
  cell_expected(s, move, adjuster, page);
  cell_contrast(s, move->after, adjuster, page);
  html_record(page, move->record);
  eb_text_add(page, "</tr>\n");
}

void tables_moves(const story *s, eb_text *page)
{
  static const char *const heads[] = {"Adjuster", ">Wished change", "Done",    ">Stood at",
                                      ">Meant",   ">Came to",       ">Record", NULL};
  if (s->move_count == 0) {
    eb_text_add(page, "<p>Nothing was adjusted.</p>\n");
    return;
  }
  html_table(page,
             "Adjustments. A change is of the first side against the second, or of the lone side against the mean; "
             "what it stood at, was meant to become and came to includes all adjustments of the same stop",
             heads);
  size_t number = 0;
  for (size_t i = 0; i < s->move_count; i++) {
    bool done = eb_json_get_bool(s->move[i].value, "done", false);
    number += done ? 1 : 0;
    write_move(s, &s->move[i], done ? number : 0, page);
  }
  html_table_end(page);
}

static const eb_json *contrast_of(const story_verdict *verdict, const char *adjuster)
{
  const eb_json *contrast = verdict == NULL ? NULL : eb_json_first(eb_json_get(verdict->verdict, "contrasts"));
  for (; contrast != NULL; contrast = eb_json_next(contrast))
    if (strcmp(eb_json_get_string(contrast, "adjuster", ""), adjuster) == 0)
      return contrast;
  return NULL;
}

static void cell_effect(const eb_json *contrast, eb_text *page)
{
  char text[EB_FORMAT_SIZE * 2];
  html_number(page, contrast == NULL ? "\xe2\x80\x93"
                                     : say_contrast(log1p(eb_json_get_number(contrast, "value", 0)),
                                                    eb_json_get_number(contrast, "doubt", 0), text));
}

static void write_effect(const story_verdict *first, const story_verdict *last, const eb_adjuster *adjuster,
                         eb_text *page)
{
  const eb_json *before = contrast_of(first, adjuster->id);
  const eb_json *after = contrast_of(last, adjuster->id);
  if (before == NULL && after == NULL)
    return;
  const char *level = eb_json_get_string(before != NULL ? before : after, "level", "?");
  eb_text_add(page, "<tr><th scope=\"row\">");
  html_text(page, adjuster->title);
  eb_text_add(page, "</th>");
  html_cell(page, strcmp(level, "side") == 0   ? "sides"
                  : strcmp(level, "pair") == 0 ? "pairs"
                  : strcmp(level, "bore") == 0 ? "a bore and its group"
                                               : level);
  cell_effect(before, page);
  cell_effect(after, page);
  eb_text_add(page, "</tr>\n");
}

void tables_effects(const story *s, eb_text *page)
{
  static const char *const heads[] = {"Part", "It shifts air between", ">Before", ">After", NULL};
  char caption[300], records[EB_FORMAT_SIZE];
  const story_verdict *first = story_first(s);
  const story_verdict *last = story_last(s);
  if (first == NULL || !s->has_layout || eb_json_count(eb_json_get(first->verdict, "contrasts")) == 0)
    return;
  if (last == first)
    last = NULL;
  snprintf(caption, sizeof caption,
           "Side, pair and bore: how much more air the first side of a part has than its second, or a lone bore than "
           "its group, with its standard uncertainty (%s)",
           story_records(first, last, records));
  html_table(page, caption, heads);
  for (int k = 0; k < s->layout.adjuster_count; k++)
    write_effect(first, last, &s->layout.adjuster[k], page);
  html_table_end(page);
}

static void write_taken_back(const story *s, eb_text *page)
{
  static const char *const heads[] = {"What", "Answer", ">Record", ">Taken back by", NULL};
  size_t count = 0;
  for (size_t i = 0; i < s->account->count; i++)
    count += s->account->taken_back_by[i] != 0 && eb_account_is(s->account, i, "answer") ? 1 : 0;
  if (count == 0) {
    eb_text_add(page, "<p>Nothing was taken back.</p>\n");
    return;
  }
  html_table(page, "Answers that were taken back", heads);
  for (size_t i = 0; i < s->account->count; i++) {
    if (s->account->taken_back_by[i] == 0 || !eb_account_is(s->account, i, "answer"))
      continue;
    const eb_json *record = eb_account_record(s->account, i);
    char value[300];
    eb_text_add(page, "<tr><th scope=\"row\">");
    html_text(page, eb_json_get_string(eb_json_get(record, "ask"), "title", "?"));
    eb_text_add(page, "</th>");
    html_cell(page, story_answer(s, i, value, sizeof value));
    html_record(page, i + 1);
    html_record(page, s->account->taken_back_by[i]);
    eb_text_add(page, "</tr>\n");
  }
  html_table_end(page);
}

static void write_notes(const story *s, eb_text *page)
{
  size_t count = 0;
  for (size_t i = 0; i < s->account->count; i++) {
    if (!eb_account_is(s->account, i, "note"))
      continue;
    eb_text_add(page, count++ == 0 ? "<h3>Notes</h3>\n<ul>\n<li>" : "<li>");
    html_text(page, eb_json_get_string(eb_account_record(s->account, i), "text", ""));
    eb_text_printf(page, " (record %zu)</li>\n", i + 1);
  }
  if (count > 0)
    eb_text_add(page, "</ul>\n");
}

void tables_people(const story *s, eb_text *page)
{
  static const char *const cautions[] = {"caution", NULL};
  eb_text_add(page, "<h3>Cautions acknowledged, each with its code</h3>\n");
  groups_list(s, cautions, "None was asked.", page);
  eb_text_add(page, "<h3>Taken back</h3>\n");
  write_taken_back(s, page);
  write_notes(s, page);
}
