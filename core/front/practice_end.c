/* The end of a practice: the truth beside what was concluded. */
#include "practice.h"

#include "rehearsal.h"
#include "sight.h"

#include "evenbore/format.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *percent(double relative, char text[EB_FORMAT_SIZE])
{
  return eb_format_percent(relative, false, text);
}

static const char *judged_text(const eb_json *judged, char *text, size_t size)
{
  char deviation[EB_FORMAT_SIZE], doubt[EB_FORMAT_SIZE];
  if (!eb_json_is_number(eb_json_get(judged, "deviation"))) {
    snprintf(text, size, "-");
    return text;
  }
  double off = round(1000 * eb_json_get_number(judged, "deviation", 0)) / 10;
  eb_format_fixed(off, 1, deviation);
  eb_format_fixed(100 * eb_json_get_number(judged, "doubt", 0), 1, doubt);
  snprintf(text, size, "%s%s \u00B1%s %%", off < 0 ? "" : "+", deviation, doubt);
  return text;
}

static void say_bore(eb_page *page, const eb_json *verdict, const char *bore, double deviation)
{
  char text[3 * EB_FORMAT_SIZE];
  const eb_json *judged = eb_json_get(eb_json_get(verdict, "bores"), bore);
  eb_page_cell(page, EB_STRONG, bore, 5);
  eb_page_cell(page, EB_PLAIN, eb_format_percent(deviation, true, text), -8);
  eb_page_put(page, EB_PLAIN, "  ");
  if (judged != NULL) {
    eb_page_cell(page, EB_PLAIN, judged_text(judged, text, sizeof text), -(page->utf8 ? 12 : 14));
    eb_page_put(page, EB_PLAIN, "  ");
    eb_page_put(page, EB_PLAIN, eb_json_get_string(judged, "word", "?"));
  }
  eb_page_end(page);
}

static bool is_left_out(const eb_practice *p, const char *bore)
{
  const eb_json *judged = eb_json_get(eb_json_get(p->verdict, "bores"), bore);
  return strcmp(eb_json_get_string(judged, "word", ""), "left out") == 0;
}

/* Of the bores that the verdict is about. */
static double mean_of_counted(const eb_practice *p, const eb_json *bores, const eb_engine_truth *truth)
{
  double sum = 0;
  int count = 0, at = 0;
  for (const eb_json *bore = eb_json_first(bores); bore != NULL; bore = eb_json_next(bore), at++)
    if (!is_left_out(p, eb_json_as_string(bore, "?"))) {
      sum += truth->flow_kg_h[at];
      count++;
    }
  return count > 0 ? sum / count : truth->flow_kg_h[0];
}

static void say_bores(const eb_practice *p, eb_page *page, const eb_engine_truth *truth)
{
  const eb_json *bores = eb_json_get(p->layout, "bores");
  double mean_kg_h = mean_of_counted(p, bores, truth);
  int at = 0;
  eb_page_say(page, p->verdict == NULL ? "Bore, and how far it truly stands off the mean (no verdict was reached):"
                    : p->stale ? "Bore, how far it truly stands off the mean, and the last verdict (from before the "
                                 "last move):"
                               : "Bore, how far it truly stands off the mean, and the last verdict:");
  for (const eb_json *bore = eb_json_first(bores); bore != NULL; bore = eb_json_next(bore))
    say_bore(page, p->verdict, eb_json_as_string(bore, "?"), truth->flow_kg_h[at++] / mean_kg_h - 1);
}

static void say_claim(const eb_practice *p, eb_page *page)
{
  const eb_json *claim = eb_json_get(p->end, "claim");
  char claimed[EB_FORMAT_SIZE], spread[EB_FORMAT_SIZE];
  if (p->end == NULL || !eb_json_is_object(claim)) {
    eb_page_paragraph(page, EB_STRONG, "", "",
                      p->end == NULL ? "Left before the end: no claim." : "No claim was made.");
    return;
  }
  double tolerance = eb_json_get_number(claim, "tolerance", 0), truly = eb_bay_spread(p->bay, claim);
  percent(eb_format_round_up(tolerance), claimed);
  percent(truly, spread);
  char line[200];
  snprintf(line, sizeof line, "Claim: even within %s. %s: the farthest of these bores stands %s off.", claimed,
           truly <= tolerance ? "True" : "Not true", spread);
  eb_page_paragraph(page, truly <= tolerance ? EB_GOOD : EB_ALARM, "", "  ", line);
}

static void say_course(const eb_practice *p, eb_page *page)
{
  char began[EB_FORMAT_SIZE], now[EB_FORMAT_SIZE];
  eb_page_sayf(page, "Farthest bore of all: %s off before work, %s now.", percent(p->began.spread, began),
               percent(eb_bay_spread(p->bay, NULL), now));
}

static bool was_there(const eb_practice *p, int fault)
{
  return p->began.fault[fault] > 0 || (fault == EB_FAULT_SWAP && p->fault[fault] > 0);
}

static bool shows_cold(int fault)
{
  return fault == EB_FAULT_LEAK || fault == EB_FAULT_STICK || fault == EB_FAULT_LASH || fault == EB_FAULT_LOOSE_COUPLER;
}

static void say_faults(const eb_practice *p, eb_page *page)
{
  eb_faults found = eb_bay_found(p->bay);
  bool any = false;
  for (int f = 0; f < EB_FAULTS; f++) {
    char where[160];
    if (!was_there(p, f))
      continue;
    any = true;
    eb_sight_fault((eb_fault)f, p->began.faulty[f], p->layout, where, sizeof where);
    bool hidden = (found >> f & 1) == 0;
    eb_page_sayf(page, "Fault: %s; %s.%s", where, hidden ? "not found" : "found",
                 hidden && shows_cold(f) ? " The cold checks show it." : "");
  }
  if (!any)
    eb_page_say(page, "Fault: none was there.");
}

static const char *counted(int count, const char *what, char text[40])
{
  snprintf(text, 40, "%d %s%s", count, what, count == 1 ? "" : "s");
  return text;
}

static void say_work(eb_page *page, const eb_bay_work *work)
{
  char line[400], stops[40], readings[40], moves[40], plates[40];
  eb_bay_work w = *work;
  int used = snprintf(line, sizeof line, "Work: %s, %s, %s, %s pulled; %.0f minutes (", counted(w.stops, "stop", stops),
                      counted(w.readings, "reading", readings), counted(w.moves, "move", moves),
                      counted(w.plates, "plate", plates), w.minutes);
  for (int k = 0; k < EB_BAY_MINUTES; k++)
    used += snprintf(line + used, sizeof line - (size_t)used, "%s%s %.0f", k == 0 ? "" : ", ",
                     eb_bay_minutes_word((eb_bay_minutes)k), w.minutes_of[k]);
  eb_page_sayf(page, "%s).", line);
}

/* The same engine, worked on by the program's own tuner. False where that is not to be had. */
static bool play_other(const eb_practice *p, eb_rehearsed *other)
{
  eb_rehearsal rehearsal = {.host = p->run->host,
                            .runner = &p->run->runner,
                            .loaded = p->loaded,
                            .gauge = p->gauge,
                            .tolerance = p->tolerance,
                            .risk = p->risk,
                            .one_fault = p->any};
  memcpy(rehearsal.fault, p->fault, sizeof rehearsal.fault);
  return eb_rehearsal_play(&rehearsal, p->seed, other, NULL) == EB_OK &&
         (other->end == EB_REHEARSAL_EVEN || other->end == EB_REHEARSAL_CLAIMED);
}

static void compare(const eb_practice *p, eb_page *page, const eb_bay_work *mine)
{
  eb_rehearsed other;
  char stops[40], readings[40], saved[40], claim[EB_FORMAT_SIZE] = "nothing";
  if (p->end == NULL || p->run->options.watch || !play_other(p, &other))
    return;
  if (other.claims)
    percent(eb_format_round_up(other.claim), claim);
  eb_page_sayf(page, "The program's own tuner took %s, %s and %.0f minutes here, and could claim %s.",
               counted(other.work.stops, "stop", stops), counted(other.work.readings, "reading", readings),
               other.work.minutes, claim);
  if (mine->stops > other.work.stops)
    eb_page_sayf(page, "To be saved: %s.", counted(mine->stops - other.work.stops, "stop", saved));
}

static void say_saved(const eb_practice *p, eb_page *page, const eb_bay_work *work)
{
  char text[40];
  if (p->stops_for_worse > 0)
    eb_page_sayf(page, "After %s it was less even than before.", counted(p->stops_for_worse, "stop", text));
  if (p->end != NULL && work->moves > 0 && p->began.spread <= eb_json_get_number(p->verdict, "tolerance", 0))
    eb_page_say(page, "It was within what is wanted before work: with more readings at first, no move was needed.");
  compare(p, page, work);
}

void eb_practice_say_truth(const eb_practice *p, eb_page *page)
{
  eb_engine_truth truth;
  eb_bay_work work;
  eb_page_blank(page);
  eb_page_paragraph(page, EB_STRONG, "", "", "What no gauge shows:");
  if (eb_bay_truth(p->bay, &truth, NULL) != EB_OK)
    eb_page_say(page, "No engine was come to yet.");
  else {
    eb_bay_account(p->bay, &work);
    say_bores(p, page, &truth);
    say_claim(p, page);
    say_course(p, page);
    say_faults(p, page);
    say_work(page, &work);
    say_saved(p, page, &work);
  }
  eb_page_sayf(page, "Seed %llu. Practice: a simulated engine%s.", (unsigned long long)p->seed,
               p->run->options.keep == NULL ? ", and nothing was kept" : "");
}
