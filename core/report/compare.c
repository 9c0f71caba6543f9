/* Two sessions side by side. */
#include "forms.h"
#include "html.h"
#include "series.h"
#include "sheet.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* `between`: from the end of the first to the begin of the second; `ends`: from end to end. */
typedef struct comparison {
  past first, second;
  series_gap between, ends;
} comparison;

static const char *const both_words[] = {"Between the end of the first and the begin of the second",
                                         "Between the end of the first and the end of the second"};

static const series_gap *gap_of(const comparison *c, int which)
{
  return which == 0 ? &c->between : &c->ends;
}

static eb_status refuse(const past *first, const past *second, eb_error *error)
{
  const past *without = !first->last.there ? first : !second->last.there ? second : NULL;
  if (without != NULL)
    return eb_fail(error, EB_MISMATCH, without->name, "it has no verdict at idle, so there is nothing to compare");
  if (!past_same_bores(first, second) && first->layout.bore_count == second->layout.bore_count &&
      first->layout.row_count == second->layout.row_count)
    return eb_fail(
        error, EB_MISMATCH, second->name,
        "its bores are named, or stand in their rows, otherwise than those of %.200s; only sessions about the "
        "same bores compare",
        first->name);
  if (!past_same_bores(first, second))
    return eb_fail(error, EB_MISMATCH, second->name,
                   "its bores are not those of %.200s (%d in %d rows against %d in %d); only sessions about the same "
                   "bores compare",
                   first->name, second->layout.bore_count, second->layout.row_count, first->layout.bore_count,
                   first->layout.row_count);
  if (strcmp(first->digest, second->digest) == 0)
    return eb_fail(error, EB_MISMATCH, second->name, "it is the same session twice; two different ones are wanted");
  return EB_OK;
}

/* The difference of a bore in a gap; NULL: it does not count in both. */
static const eb_difference *differs(const series_gap *gap, int bore)
{
  for (int i = 0; gap->count >= 2 && i < gap->count; i++)
    if (gap->bore[i] == bore)
      return &gap->differs[i];
  return NULL;
}

static const char *word_of(const eb_difference *d)
{
  return d == NULL ? "not in both" : d->beyond ? "more than doubt" : "within doubt";
}

static void text_session(const past *p, const char *title, eb_text *text)
{
  char line[PAST_NAME_SIZE + PAST_WORDS_SIZE], date[EB_FORMAT_SIZE], a[EB_FORMAT_SIZE], b[EB_FORMAT_SIZE],
      c[EB_FORMAT_SIZE];
  eb_text_printf(text, "\n%s\n", title);
  snprintf(line, sizeof line, "%s, begun %s, %s", p->name, eb_format_date(p->time, date), past_state(p));
  plain_pair(text, "session", line);
  plain_pair(text, "procedure", p->procedure);
  plain_pair(text, "gauge", p->gauge);
  snprintf(line, sizeof line, "greatest deviation %s before, %s after %d move%s; claim %s",
           past_say_percent(p->first.there, p->first.spread, a), past_say_percent(p->last.there, p->last.spread, b),
           p->moves, p->moves == 1 ? "" : "s",
           p->claims ? past_say_percent(true, eb_format_round_up(p->claim), c) : "none");
  plain_pair(text, "found", line);
  plain_pair(text, "conditions", p->conditions);
}

static void text_bores(const comparison *c, int which, eb_text *text)
{
  const past_verdict *from = &c->first.last, *to = which == 0 ? &c->second.first : &c->second.last;
  const series_gap *gap = gap_of(c, which);
  char words[200];
  series_sentence(gap, words, sizeof words);
  eb_text_printf(text, "\n%s:\n", both_words[which]);
  eb_text_add(text, "  ");
  plain_wrapped(text, 2, 2, words);
  for (int i = 0; i < c->first.layout.bore_count; i++) {
    const eb_difference *d = differs(gap, i);
    char was[EB_FORMAT_SIZE * 2], is[EB_FORMAT_SIZE * 2], change[EB_FORMAT_SIZE * 2], p[EB_FORMAT_SIZE];
    eb_text_printf(text, "  bore %-4s %14s %14s %14s %-9s %s\n", c->first.layout.bore[i],
                   past_say(from->bore[i].counts, from->bore[i].from.value, from->bore[i].from.doubt, was),
                   past_say(to->bore[i].counts, to->bore[i].from.value, to->bore[i].from.doubt, is),
                   past_say(d != NULL, d == NULL ? 0 : d->value, d == NULL ? 0 : d->doubt, change),
                   d == NULL ? "" : past_say_p(d->p, p), word_of(d));
  }
}

static void write_text(const comparison *c, eb_text *text)
{
  eb_text_add(text, "Comparison of two sessions, the earlier first\n");
  text_session(&c->first, "First", text);
  text_session(&c->second, "Second", text);
  if (!past_same_gauge(&c->first, &c->second))
    eb_text_add(text, "\nThe gauges differ; deviations are relative and compare all the same.\n");
  text_bores(c, 0, text);
  text_bores(c, 1, text);
  eb_text_add(text, "\nA change of one bore is more than doubt where p times the number of bores is at\n"
                    "most the risk of the second session.\n");
}

static void page_session(const past *p, const char *title, eb_text *page)
{
  char line[PAST_WORDS_SIZE], number[EB_FORMAT_SIZE];
  eb_text_printf(page, "<h3>%s</h3>\n<dl>\n", title);
  page_pair(page, "Session", p->name);
  page_pair(page, "Begun", eb_format_date(p->time, number));
  page_pair(page, "State", past_state(p));
  page_pair(page, "Procedure", p->procedure);
  page_pair(page, "Gauge", p->gauge);
  page_pair(page, "Before", past_say_percent(p->first.there, p->first.spread, number));
  page_pair(page, "After", past_say_percent(p->last.there, p->last.spread, number));
  page_pair(page, "Claim", p->claims ? past_say_percent(true, eb_format_round_up(p->claim), number) : "none");
  snprintf(line, sizeof line, "%d", p->moves);
  page_pair(page, "Adjustments", line);
  page_pair(page, "Conditions", p->conditions);
  page_pair(page, "Journal's digest", p->digest);
  eb_text_add(page, "</dl>\n");
}

static void page_bores(const comparison *c, int which, eb_text *page)
{
  static const char *const heads[] = {"Bore", ">First, after", ">Second, before", ">Change", ">p", "Word", NULL};
  static const char *const end_heads[] = {"Bore", ">First, after", ">Second, after", ">Change", ">p", "Word", NULL};
  const past_verdict *from = &c->first.last, *to = which == 0 ? &c->second.first : &c->second.last;
  const series_gap *gap = gap_of(c, which);
  char words[200];
  series_sentence(gap, words, sizeof words);
  eb_text_printf(page, "<h2>%s</h2>\n<p class=\"claim%s\">", both_words[which],
                 gap->count >= 2 && gap->all.beyond ? " short" : "");
  html_text(page, words);
  eb_text_add(page, ".</p>\n");
  html_table(page, "Deviations from the mean with their standard uncertainty, and how they changed",
             which == 0 ? heads : end_heads);
  for (int i = 0; i < c->first.layout.bore_count; i++) {
    const eb_difference *d = differs(gap, i);
    char text[EB_FORMAT_SIZE * 2];
    eb_text_add(page, "<tr><th scope=\"row\">");
    html_text(page, c->first.layout.bore[i]);
    eb_text_add(page, "</th>");
    html_number(page, past_say(from->bore[i].counts, from->bore[i].from.value, from->bore[i].from.doubt, text));
    html_number(page, past_say(to->bore[i].counts, to->bore[i].from.value, to->bore[i].from.doubt, text));
    html_number(page, past_say(d != NULL, d == NULL ? 0 : d->value, d == NULL ? 0 : d->doubt, text));
    html_number(page, d == NULL ? "\xe2\x80\x93" : past_say_p(d->p, text));
    html_cell(page, word_of(d));
    eb_text_add(page, "</tr>\n");
  }
  html_table_end(page);
}

static void write_page(const comparison *c, eb_text *page)
{
  eb_text_add(page, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                    "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                    "<title>Airflow, two sessions compared</title>\n");
  page_style(page);
  eb_text_add(page, "</head>\n<body>\n<header>\n<h1>Airflow, two sessions compared</h1>\n</header>\n<main>\n"
                    "<h2>The sessions</h2>\n");
  page_session(&c->first, "First", page);
  page_session(&c->second, "Second", page);
  if (!past_same_gauge(&c->first, &c->second))
    eb_text_add(page, "<p>The gauges differ; deviations are relative and compare all the same.</p>\n");
  page_bores(c, 0, page);
  page_bores(c, 1, page);
  eb_text_add(page,
              "<p>A change of one bore is more than doubt where p times the number of bores is at most the risk of "
              "the second session.</p>\n</main>\n</body>\n</html>\n");
}

static eb_json *gap_json(const series_gap *gap)
{
  if (gap->count < 2)
    return eb_json_null();
  eb_json *json = eb_json_object();
  if (eb_json_set(json, "all", series_all_json(gap)) &&
      eb_json_set(json, "bores", series_bores_json(gap->from, gap->bore, gap->differs, gap->count)))
    return json;
  eb_json_destroy(json);
  return NULL;
}

static void write_json(const comparison *c, eb_text *text)
{
  eb_json *json = eb_json_object();
  bool made = eb_json_set_string(json, "format", "evenbore comparison") && eb_json_set_number(json, "version", 1) &&
              eb_json_set(json, "first", series_session_json(&c->first)) &&
              eb_json_set(json, "second", series_session_json(&c->second)) &&
              eb_json_set_bool(json, "same_gauge", past_same_gauge(&c->first, &c->second)) &&
              eb_json_set_bool(json, "same_procedure", strcmp(c->first.procedure, c->second.procedure) == 0) &&
              eb_json_set(json, "between", gap_json(&c->between)) && eb_json_set(json, "ends", gap_json(&c->ends));
  form_json_end(text, json, made);
}

static void sheet_verdict(sheet *out, const past_verdict *v, int bore)
{
  bool known = bore < 0 ? v->there : v->there && v->bore[bore].counts;
  sheet_percent(out, known, !known ? 0 : bore < 0 ? v->spread : expm1(v->bore[bore].from.value));
  sheet_percent(out, known && bore >= 0, bore < 0 ? 0 : v->bore[bore].from.doubt);
}

static void sheet_difference(sheet *out, const eb_difference *d, bool value)
{
  char number[EB_FORMAT_SIZE];
  sheet_percent(out, d != NULL && value, d == NULL ? 0 : expm1(d->value));
  sheet_percent(out, d != NULL && value, d == NULL ? 0 : d->doubt);
  if (d == NULL)
    sheet_field(out, "");
  else
    sheet_number(out, eb_format_fixed(d->p, 6, number));
  sheet_field(out, d == NULL ? "" : d->beyond ? "beyond doubt" : "within doubt");
}

static void sheet_line(const comparison *c, int bore, sheet *out)
{
  sheet_field(out, bore < 0 ? "session" : "bore");
  sheet_field(out, bore < 0 ? "" : c->first.layout.bore[bore]);
  sheet_verdict(out, &c->first.first, bore);
  sheet_verdict(out, &c->first.last, bore);
  sheet_verdict(out, &c->second.first, bore);
  sheet_verdict(out, &c->second.last, bore);
  for (int which = 0; which < 2; which++) {
    const series_gap *gap = gap_of(c, which);
    const eb_difference *all = gap->count >= 2 ? &gap->all : NULL;
    sheet_difference(out, bore < 0 ? all : differs(gap, bore), bore >= 0);
  }
  sheet_end(out);
}

static void write_csv(const comparison *c, bool semicolon, eb_text *text)
{
  static const char *const verdicts[] = {"first_before", "first_after", "second_before", "second_after"};
  static const char *const gaps[] = {"between", "ends"};
  sheet out = {.text = text, .semicolon = semicolon};
  char head[80];
  sheet_field(&out, "kind");
  sheet_field(&out, "name");
  for (int i = 0; i < 4; i++) {
    snprintf(head, sizeof head, "%s_percent", verdicts[i]);
    sheet_field(&out, head);
    snprintf(head, sizeof head, "%s_doubt_percent", verdicts[i]);
    sheet_field(&out, head);
  }
  for (int i = 0; i < 2; i++) {
    static const char *const parts[] = {"percent", "doubt_percent", "p", "word"};
    for (int part = 0; part < 4; part++) {
      snprintf(head, sizeof head, "%s_%s", gaps[i], parts[part]);
      sheet_field(&out, head);
    }
  }
  sheet_end(&out);
  for (int bore = -1; bore < c->first.layout.bore_count; bore++)
    sheet_line(c, bore, &out);
}

static eb_status read_both(const char *first_name, const eb_account *first, const char *second_name,
                           const eb_account *second, comparison *c, eb_error *error)
{
  eb_status status = past_read(first, first_name, &c->first, error);
  if (status == EB_OK)
    status = past_read(second, second_name, &c->second, error);
  if (status == EB_OK && past_is_before(&c->second, &c->first)) {
    past later = c->first;
    c->first = c->second;
    c->second = later;
  }
  return status == EB_OK ? refuse(&c->first, &c->second, error) : status;
}

eb_status eb_compare_write(const char *first_name, const eb_account *first, const char *second_name,
                           const eb_account *second, const eb_report_options *options, eb_text *text, eb_error *error)
{
  comparison c;
  eb_status status = read_both(first_name, first, second_name, second, &c, error);
  if (status != EB_OK)
    return status;
  series_gap_of(&c.first, &c.second, &c.between);
  past end = c.second;
  end.first = end.last;
  series_gap_of(&c.first, &end, &c.ends);
  c.ends.to = &c.second;
  switch (options->form) {
  case EB_REPORT_PAGE: write_page(&c, text); break;
  case EB_REPORT_TEXT: write_text(&c, text); break;
  case EB_REPORT_CSV: write_csv(&c, options->semicolon, text); break;
  case EB_REPORT_JSON: write_json(&c, text); break;
  }
  if (!text->failed)
    return EB_OK;
  eb_text_clear(text);
  return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
}
