/* The history as text. */
#include "forms.h"
#include "series.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { BAR_MOST = 20 };

static void add_sessions(const eb_history *h, eb_text *text)
{
  eb_text_add(text, "\n No  Begun             Before   After   Claim  Repeats to    Moves  State\n");
  for (size_t i = 0; i < h->count; i++) {
    const past *p = series_at(h, i);
    char date[EB_FORMAT_SIZE], before[EB_FORMAT_SIZE], after[EB_FORMAT_SIZE], claim[EB_FORMAT_SIZE],
        repeats[EB_FORMAT_SIZE], degrees[EB_FORMAT_SIZE];
    bool known = p->repeats.deviation > 0;
    eb_text_printf(text, "%3zu  %-16s  %7s %7s %7s  %6s (%s)%s  %5d  %s\n", i + 1, eb_format_date(p->time, date),
                   p->first.there ? eb_format_percent(p->first.spread, false, before) : "-",
                   p->last.there ? eb_format_percent(p->last.spread, false, after) : "-",
                   p->claims ? eb_format_percent(eb_format_round_up(p->claim), false, claim) : "-",
                   known ? eb_format_percent(p->repeats.deviation, false, repeats) : "-",
                   eb_format_fixed(p->repeats.degrees_of_freedom, 0, degrees), p->repeats_own ? "" : "*", p->moves,
                   past_state(p));
  }
  eb_text_add(text, "Before, after: the greatest deviation. In brackets the degrees of freedom of the\n"
                    "repeats; * together with what was known of the gauge before.\n");
}

static void add_bar(const char *lead, double share, char mark, eb_text *text)
{
  char number[EB_FORMAT_SIZE], bar[BAR_MOST + 1];
  int size = (int)lround(fmin(share * 100, BAR_MOST));
  memset(bar, mark, (size_t)size);
  bar[size] = '\0';
  eb_text_printf(text, "%s%-*s%s %s\n", lead, size, bar, share * 100 > BAR_MOST ? ">" : "",
                 eb_format_percent(share, false, number));
}

static void add_bars(const eb_history *h, eb_text *text)
{
  eb_text_add(text, "\nGreatest deviation, a mark for each per cent: o before, # after\n");
  for (size_t i = 0; i < h->count; i++) {
    const past *p = series_at(h, i);
    char lead[24];
    snprintf(lead, sizeof lead, "%3zu  ", i + 1);
    if (p->first.there)
      add_bar(lead, p->first.spread, 'o', text);
    if (p->last.there)
      add_bar("     ", p->last.spread, '#', text);
  }
}

static void add_adjusters(const series_gap *gap, eb_text *text)
{
  for (int i = 0; i < gap->adjusters; i++) {
    const eb_adjuster *adjuster = &gap->from->layout.adjuster[gap->adjuster[i]];
    char line[600], left[EB_FORMAT_SIZE * 2], found[EB_FORMAT_SIZE * 2], since[EB_FORMAT_SIZE * 2], back[80] = "";
    double share;
    if (!gap->contrast[i].beyond)
      continue;
    if (series_goes_back(gap, i, &share))
      snprintf(back, sizeof back, "; it went back by %.0f %% of what it was moved", fmin(share * 100, 999));
    const eb_doubted *was = &gap->from->last.contrast[gap->adjuster[i]].from;
    const eb_doubted *is = &gap->to->first.contrast[gap->there[i]].from;
    snprintf(line, sizeof line, "%.64s: left at %s, found at %s: %s, more than the doubt%s.", adjuster->title,
             past_say(true, was->value, was->doubt, left), past_say(true, is->value, is->doubt, found),
             past_say(true, gap->contrast[i].value, gap->contrast[i].doubt, since), back);
    eb_text_add(text, "  ");
    plain_wrapped(text, 2, 4, line);
  }
}

static void add_gaps(const eb_history *h, eb_text *text)
{
  eb_text_add(text, "\nBetween the sessions\n");
  size_t count = 0;
  for (size_t i = 1; i < h->count; i++) {
    series_gap gap;
    char line[400], words[200];
    if (!series_gap_before(h, i, &gap))
      continue;
    count++;
    series_sentence(&gap, words, sizeof words);
    snprintf(line, sizeof line, "To session %zu: %s.%s", i + 1, words,
             past_same_gauge(gap.from, gap.to) ? "" : " The gauges differ; deviations are relative and compare.");
    plain_wrapped(text, 0, 2, line);
    add_adjusters(&gap, text);
  }
  if (count == 0)
    eb_text_add(text, "There are no two sessions with verdicts at idle yet.\n");
}

/* Every bore's course: before>after, session by session, of the layout that the last session has. */
static void add_bores(const eb_history *h, eb_text *text)
{
  const past *newest = series_at(h, h->count - 1);
  eb_text_add(text, "\nBores, before>after in per cent, session by session\n");
  for (int b = 0; newest->has_layout && b < newest->layout.bore_count; b++) {
    eb_text line;
    eb_text_init(&line, text->host);
    eb_text_printf(&line, "bore %s:", newest->layout.bore[b]);
    for (size_t i = 0; i < h->count; i++) {
      const past *p = series_at(h, i);
      char before[EB_FORMAT_SIZE], after[EB_FORMAT_SIZE];
      bool known = past_same_bores(p, newest) && p->first.there && p->first.bore[b].counts && p->last.bore[b].counts;
      if (known)
        eb_text_printf(&line, " %s>%s", eb_format_fixed(expm1(p->first.bore[b].from.value) * 100, 1, before),
                       eb_format_fixed(expm1(p->last.bore[b].from.value) * 100, 1, after));
      else
        eb_text_add(&line, " -");
    }
    eb_text_add(text, "  ");
    plain_wrapped(text, 2, 4, eb_text_string(&line));
    text->failed = text->failed || line.failed;
    eb_text_clear(&line);
  }
}

static void add_names(const eb_history *h, eb_text *text)
{
  char line[PAST_NAME_SIZE + PAST_WORDS_SIZE + 200];
  eb_text_add(text, "\nSessions\n");
  for (size_t i = 0; i < h->count; i++) {
    const past *p = series_at(h, i);
    snprintf(line, sizeof line, "%zu: %s, %s; gauge %s", i + 1, p->name, p->procedure, p->gauge);
    eb_text_add(text, "  ");
    plain_wrapped(text, 2, 4, line);
  }
  if (h->left_out_count > 0)
    eb_text_add(text, "\nLeft out\n");
  for (size_t i = 0; i < h->left_out_count; i++) {
    snprintf(line, sizeof line, "%s: %s", h->left_out[i].name, h->left_out[i].why);
    eb_text_add(text, "  ");
    plain_wrapped(text, 2, 4, line);
  }
}

void history_text(const eb_history *h, eb_text *text)
{
  char line[PAST_NAME_SIZE + 80];
  snprintf(line, sizeof line, "History of engine %s: %zu session%s", h->engine, h->count, h->count == 1 ? "" : "s");
  plain_wrapped(text, 0, 0, line);
  if (h->count > 0) {
    add_sessions(h, text);
    add_bars(h, text);
    add_gaps(h, text);
    add_bores(h, text);
  }
  add_names(h, text);
}
