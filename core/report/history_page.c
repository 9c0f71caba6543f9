/* The history as a page, in the manner of the report's. */
#include "forms.h"
#include "html.h"
#include "plot.h"
#include "series.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static double *numbers(const eb_history *h, size_t count, eb_text *page)
{
  double *made = h->host->allocate(h->host->context, NULL, (count + 1) * sizeof *made);
  page->failed = page->failed || made == NULL;
  for (size_t i = 0; made != NULL && i < count; i++)
    made[i] = NAN;
  return made;
}

static void release(const eb_history *h, double *made)
{
  h->host->allocate(h->host->context, made, 0);
}

static void write_head(const eb_history *h, eb_text *page)
{
  char line[120];
  eb_text_add(page,
              "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
              "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>Airflow history, ");
  html_text(page, h->engine);
  eb_text_add(page, "</title>\n");
  page_style(page);
  eb_text_add(page, "</head>\n<body>\n<header>\n<h1>Airflow history: ");
  html_text(page, h->engine);
  eb_text_add(page, "</h1>\n");
  snprintf(line, sizeof line, "%zu session%s", h->count, h->count == 1 ? "" : "s");
  eb_text_printf(page, "<p>%s.</p>\n</header>\n<main>\n", line);
}

static void row_session(const past *p, size_t number, eb_text *page)
{
  char text[EB_FORMAT_SIZE], repeats[EB_FORMAT_SIZE * 2 + 40], degrees[EB_FORMAT_SIZE];
  eb_text_printf(page, "<tr><th scope=\"row\">%zu</th>", number);
  html_cell(page, eb_format_date(p->time, text));
  html_cell(page, past_state(p));
  html_number(page, past_say_percent(p->first.there, p->first.spread, text));
  html_number(page, past_say_percent(p->last.there, p->last.spread, text));
  html_number(page, past_say_percent(p->claims, eb_format_round_up(p->claim), text));
  if (p->repeats.degrees_of_freedom > 0)
    snprintf(repeats, sizeof repeats, "%s (%s)%s", eb_format_percent(p->repeats.deviation, false, text),
             eb_format_fixed(p->repeats.degrees_of_freedom, 0, degrees), p->repeats_own ? "" : " *");
  else
    snprintf(repeats, sizeof repeats, "\xe2\x80\x93");
  html_number(page, repeats);
  snprintf(text, sizeof text, "%d", p->moves);
  html_number(page, text);
  html_cell(page, p->gauge);
  html_cell(page, p->name);
  eb_text_add(page, "</tr>\n");
}

static void write_sessions(const eb_history *h, eb_text *page)
{
  static const char *const heads[] = {"No",          "Begun",  "State", ">Before", ">After", ">Claim",
                                      ">Repeats to", ">Moves", "Gauge", "Session", NULL};
  html_table(page,
             "Sessions: greatest deviation before and after, the claim, and how well one reading repeated (degrees of "
             "freedom in brackets; * with what was known of the gauge before)",
             heads);
  for (size_t i = 0; i < h->count; i++)
    row_session(series_at(h, i), i + 1, page);
  html_table_end(page);
}

static void plot_spreads(const eb_history *h, eb_text *page)
{
  double *before = numbers(h, h->count, page), *after = numbers(h, h->count, page), *claim = numbers(h, h->count, page);
  if (!page->failed) {
    for (size_t i = 0; i < h->count; i++) {
      const past *p = series_at(h, i);
      before[i] = p->first.there ? p->first.spread : NAN;
      after[i] = p->last.there ? p->last.spread : NAN;
      claim[i] = p->claims ? p->claim : NAN;
    }
    const plot_series series[] = {
        {"deviation before", PLOT_RING, before}, {"deviation after", PLOT_DOT, after}, {"claim", PLOT_SQUARE, claim}};
    eb_text_add(page, "<figure><figcaption>Deviation and claim, session by session</figcaption>\n");
    plot_write(
        page, "spread", "Deviation and claim, session by session",
        "The greatest deviation of a bore before and after each session, and the claim. The table of sessions has "
        "the figures.",
        series, 3, h->count);
    eb_text_add(page, "</figure>\n");
  }
  release(h, before);
  release(h, after);
  release(h, claim);
}

static void plot_repeats(const eb_history *h, eb_text *page)
{
  double *value = numbers(h, h->count, page);
  size_t known = 0;
  for (size_t i = 0; !page->failed && i < h->count; i++)
    if (series_at(h, i)->repeats.degrees_of_freedom > 0) {
      value[i] = series_at(h, i)->repeats.deviation;
      known++;
    }
  if (known > 0) {
    const plot_series series[] = {{"one reading repeats to", PLOT_DOT, value}};
    eb_text_add(page, "<figure><figcaption>How well the gauge repeated</figcaption>\n");
    plot_write(page, "repeats", "How well the gauge repeated, session by session",
               "The relative standard deviation of one reading in each session. The table of sessions has the figures.",
               series, 1, h->count);
    eb_text_add(page, "</figure>\n");
  }
  release(h, value);
}

static void row_adjuster(const series_gap *gap, int i, size_t number, eb_text *page)
{
  char text[EB_FORMAT_SIZE * 2], back[EB_FORMAT_SIZE] = "\xe2\x80\x93";
  double share;
  const eb_doubted *was = &gap->from->last.contrast[gap->adjuster[i]].from;
  const eb_doubted *is = &gap->to->first.contrast[gap->there[i]].from;
  eb_text_printf(page, "<tr><th scope=\"row\">%zu</th>", number);
  html_cell(page, gap->from->layout.adjuster[gap->adjuster[i]].title);
  html_number(page, past_say(true, was->value, was->doubt, text));
  html_number(page, past_say(true, is->value, is->doubt, text));
  html_number(page, past_say(true, gap->contrast[i].value, gap->contrast[i].doubt, text));
  html_number(page, past_say_p(gap->contrast[i].p, text));
  html_cell(page, gap->contrast[i].beyond ? "more than doubt" : "within doubt");
  if (series_goes_back(gap, i, &share))
    snprintf(back, sizeof back, "%.0f %%", fmin(share * 100, 999));
  html_number(page, back);
  eb_text_add(page, "</tr>\n");
}

static void write_gaps(const eb_history *h, eb_text *page)
{
  static const char *const heads[] = {"To session", "Adjuster", ">Left at",   ">Found at", ">Change",
                                      ">p",         "Word",     ">Went back", NULL};
  series_gap gap;
  size_t met = 0;
  eb_text_add(page, "<h2>Between the sessions</h2>\n");
  for (size_t i = 1; i < h->count; i++) {
    char words[200];
    if (!series_gap_before(h, i, &gap))
      continue;
    series_sentence(&gap, words, sizeof words);
    eb_text_printf(page, "%s<li>To session %zu: ", met++ == 0 ? "<ul>\n" : "", i + 1);
    html_text(page, words);
    eb_text_printf(page, ".%s</li>\n",
                   past_same_gauge(gap.from, gap.to) ? "" : " The gauges differ; deviations are relative and compare.");
  }
  if (met == 0) {
    eb_text_add(page, "<p>There are no two sessions with verdicts at idle yet.</p>\n");
    return;
  }
  eb_text_add(page, "</ul>\n");
  html_table(
      page,
      "Adjusters: what each contributed at the end of the session before and at the begin of this one; how much of "
      "what it had been moved by it went back, where that is more than doubt",
      heads);
  for (size_t i = 1; i < h->count; i++)
    for (int k = 0; series_gap_before(h, i, &gap) && k < gap.adjusters; k++)
      row_adjuster(&gap, k, i + 1, page);
  html_table_end(page);
}

static void fill_lanes(const eb_history *h, const past *newest, double *before, double *after)
{
  for (int b = 0; b < newest->layout.bore_count; b++)
    for (size_t i = 0; i < h->count; i++) {
      const past *p = series_at(h, i);
      if (!past_same_bores(p, newest))
        continue;
      if (p->first.there && p->first.bore[b].counts)
        before[(size_t)b * h->count + i] = expm1(p->first.bore[b].from.value);
      if (p->last.there && p->last.bore[b].counts)
        after[(size_t)b * h->count + i] = expm1(p->last.bore[b].from.value);
    }
}

static void row_bores(const past *p, size_t number, eb_text *page)
{
  for (int b = 0; p->has_layout && b < p->layout.bore_count; b++) {
    char text[EB_FORMAT_SIZE * 2];
    const past_bore *first = &p->first.bore[b], *last = &p->last.bore[b];
    eb_text_printf(page, "<tr><th scope=\"row\">%zu</th>", number);
    html_cell(page, p->layout.bore[b]);
    html_number(page, past_say(p->first.there && first->counts, first->from.value, first->from.doubt, text));
    html_number(page, past_say(p->last.there && last->counts, last->from.value, last->from.doubt, text));
    eb_text_add(page, "</tr>\n");
  }
}

static void write_bores(const eb_history *h, eb_text *page)
{
  static const char *const heads[] = {"Session", "Bore", ">Before", ">After", NULL};
  const past *newest = series_at(h, h->count - 1);
  size_t size = (size_t)newest->layout.bore_count * h->count;
  double *before = numbers(h, size, page), *after = numbers(h, size, page);
  const char *names[EB_BORES_MAX];
  for (int b = 0; b < newest->layout.bore_count; b++)
    names[b] = newest->layout.bore[b];
  eb_text_add(page, "<h2>Bore by bore</h2>\n");
  if (!page->failed && newest->layout.bore_count > 0) {
    fill_lanes(h, newest, before, after);
    const plot_lanes plot = {names, (size_t)newest->layout.bore_count, h->count, before, after, newest->tolerance};
    eb_text_add(page, "<figure><figcaption>Every bore's deviation, session by session</figcaption>\n");
    plot_write_lanes(page, "bores", "Every bore's deviation, session by session",
                     "For each bore its deviation from the mean before and after each session. The table below has the "
                     "figures. Sessions with other bores are not drawn.",
                     &plot);
    eb_text_add(page, "</figure>\n");
  }
  release(h, before);
  release(h, after);
  html_table(page, "Deviations from the mean with their standard uncertainty", heads);
  for (size_t i = 0; i < h->count; i++)
    row_bores(series_at(h, i), i + 1, page);
  html_table_end(page);
}

static void write_left_out(const eb_history *h, eb_text *page)
{
  if (h->left_out_count == 0)
    return;
  eb_text_add(page, "<h2>Left out</h2>\n<ul>\n");
  for (size_t i = 0; i < h->left_out_count; i++) {
    eb_text_add(page, "<li>");
    html_text(page, h->left_out[i].name);
    eb_text_add(page, ": ");
    html_text(page, h->left_out[i].why);
    eb_text_add(page, "</li>\n");
  }
  eb_text_add(page, "</ul>\n");
}

void history_page(const eb_history *h, eb_text *page)
{
  write_head(h, page);
  if (h->count > 0) {
    eb_text_add(page, "<h2>Session by session</h2>\n");
    plot_spreads(h, page);
    plot_repeats(h, page);
    write_sessions(h, page);
    write_gaps(h, page);
    write_bores(h, page);
  }
  write_left_out(h, page);
  eb_text_add(page, "</main>\n</body>\n</html>\n");
}
