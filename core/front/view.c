#include "view.h"
#include "chart.h"
#include "prompt.h"

#include "evenbore/format.h"

#include <stdio.h>
#include <string.h>

void eb_view_init(eb_view *view, const eb_host *host, int columns, bool utf8, bool styled)
{
  *view = (eb_view){.keys_told = false};
  eb_page_init(&view->page, host, columns, utf8, styled);
}

void eb_view_clear(eb_view *view)
{
  eb_page_clear(&view->page);
  eb_json_destroy(view->layout);
  eb_json_destroy(view->ask);
}

static bool keep(eb_json **kept, const eb_json *value)
{
  if (!eb_json_is_object(value))
    return true;
  eb_json *copy = eb_json_copy(value);
  if (copy == NULL)
    return false;
  eb_json_destroy(*kept);
  *kept = copy;
  return true;
}

static void say_gauge(eb_page *page, const eb_json *gauge)
{
  char low[EB_FORMAT_SIZE];
  char high[EB_FORMAT_SIZE];
  char step[EB_FORMAT_SIZE];
  if (gauge == NULL)
    return;
  const char *vent = eb_json_get_string(gauge, "vent", "");
  const char *unit = eb_json_get_string(gauge, "unit", "");
  eb_page_sayf(page, "Gauge: %s to %s%s%.20s, read to %s%s%.40s.",
               eb_format_plain(eb_json_get_number(gauge, "low", 0), low),
               eb_format_plain(eb_json_get_number(gauge, "high", 0), high), *unit == '\0' ? "" : " ", unit,
               eb_format_plain(eb_json_get_number(gauge, "step", 0), step), *vent == '\0' ? "" : ", vent ", vent);
}

static bool show_hello(eb_view *view, const eb_json *message)
{
  eb_page *page = &view->page;
  char tolerance[EB_FORMAT_SIZE];
  char risk[EB_FORMAT_SIZE];
  const eb_json *procedure = eb_json_get(message, "procedure");
  char title[512];
  snprintf(title, sizeof title, "%.200s (%.80s %.80s)", eb_json_get_string(procedure, "title", "?"),
           eb_json_get_string(procedure, "id", "?"), eb_json_get_string(procedure, "version", "?"));
  eb_page_paragraph(page, EB_STRONG, "", "  ", title);
  eb_page_sayf(page, "%s %.200s", eb_json_get_bool(message, "resumed", false) ? "Resumed: session" : "Session",
               eb_json_get_string(message, "session", "?"));
  eb_page_sayf(page, "Wanted: even within %s, at a risk of %s of being wrong.",
               eb_format_percent(eb_json_get_number(message, "tolerance", 0), false, tolerance),
               eb_format_percent(eb_json_get_number(message, "risk", 0), false, risk));
  say_gauge(page, eb_json_get(message, "gauge"));
  const eb_json *layout = eb_json_get(message, "layout");
  if (eb_json_is_object(layout) && !eb_json_get_bool(message, "resumed", false)) {
    eb_page_blank(page);
    eb_chart_layout(page, layout, NULL);
  }
  snprintf(view->file, sizeof view->file, "%s", eb_json_get_string(message, "file", ""));
  return keep(&view->layout, layout);
}

static void say_move(eb_page *page, const eb_json *layout, const eb_json *move, int number)
{
  char up[400];
  char down[400];
  char line[1000];
  const eb_json *share = eb_json_get(move, "share");
  eb_prompt_share(share, true, up, sizeof up);
  eb_prompt_share(share, false, down, sizeof down);
  snprintf(line, sizeof line, "%.64s:%s%s%s%s%s",
           eb_chart_adjuster_title(layout, eb_json_get_string(move, "adjuster", "?")), up[0] == '\0' ? "" : " open ",
           up, up[0] == '\0' || down[0] == '\0' ? "" : ";", down[0] == '\0' ? "" : " close ", down);
  char first[16];
  snprintf(first, sizeof first, "%2d. ", number);
  eb_page_paragraph(page, EB_PLAIN, first, "    ", line);
}

void eb_view_moves(eb_page *page, const eb_json *layout, const eb_json *plan)
{
  const eb_json *moves = eb_json_get(plan, "moves");
  int number = 1;
  for (const eb_json *move = eb_json_first(moves); move != NULL && eb_json_count(moves) > 1; move = eb_json_next(move))
    say_move(page, layout, move, number++);
}

/* The chart is headed by the verdict's claim. */
static bool says_claim(const char *text, const eb_json *verdict)
{
  char claim[EB_FORMAT_SIZE];
  eb_format_fixed(eb_format_round_up(eb_json_get_number(verdict, "claim", 1)) * 100, 1, claim);
  return strstr(text, claim) != NULL;
}

const char *eb_view_words(const eb_json *message)
{
  const char *text = eb_json_get_string(message, "text", "");
  const char *reason = eb_json_get_string(eb_json_get(message, "plan"), "reason", NULL);
  const eb_json *verdict = eb_json_get(message, "verdict");
  if ((reason != NULL && strcmp(text, reason) == 0) || (verdict != NULL && says_claim(text, verdict)))
    return "";
  return text;
}

static void say_words(eb_page *page, const eb_json *message)
{
  const char *words = eb_view_words(message);
  if (strcmp(eb_json_get_string(message, "kind", ""), "caution") == 0)
    eb_page_paragraph(page, EB_ALARM, "Caution: ", "  ", words);
  else if (words[0] != '\0')
    eb_page_say(page, words);
}

static bool show_tell(eb_view *view, const eb_json *message)
{
  eb_page *page = &view->page;
  const eb_json *layout = eb_json_get(message, "layout");
  const eb_json *verdict = eb_json_get(message, "verdict");
  const eb_json *plan = eb_json_get(message, "plan");
  eb_page_blank(page);
  say_words(page, message);
  if (eb_json_is_object(layout))
    eb_chart_layout(page, layout, NULL);
  if (eb_json_is_object(verdict))
    eb_chart_verdict(page, view->layout, verdict);
  if (eb_json_is_object(plan)) {
    eb_page_paragraph(page, EB_PLAIN, "Plan: ", "  ", eb_json_get_string(plan, "reason", "?"));
    eb_view_moves(page, view->layout, plan);
  }
  return keep(&view->layout, layout);
}

static bool show_ask(eb_view *view, const eb_json *message)
{
  if (!view->keys_told) {
    eb_page_blank(&view->page);
    eb_view_keys(&view->page);
  }
  view->keys_told = true;
  eb_prompt_show(&view->page, message, view->ask);
  return keep(&view->ask, message);
}

static void show_refused(eb_view *view, const eb_json *message)
{
  char line[2048];
  const char *wanted = eb_json_get_string(message, "wanted", "");
  const char *why = eb_json_get_string(message, "why", "?");
  bool said = wanted[0] == '\0' || strchr(why, ';') != NULL; /* most reasons say what would be right */
  snprintf(line, sizeof line, "Not taken: %.1000s%s%.900s.", why, said ? "" : "; ", said ? "" : wanted);
  eb_page_paragraph(&view->page, EB_STRONG, "", "  ", line);
}

/* A job that was about the stopped engine alone wanted no claim about its air. */
static bool all_cold_even(const eb_json *message)
{
  const eb_json *cold = eb_json_first(eb_json_get(message, "cold"));
  bool even = cold != NULL && eb_json_is_null(eb_json_get(message, "claim"));
  for (; cold != NULL; cold = eb_json_next(cold))
    even = even && eb_json_get_number(cold, "tolerance", 1) <= eb_json_get_number(cold, "wanted", 0);
  return even;
}

static void show_end(eb_view *view, const eb_json *message)
{
  static const struct {
    const char *outcome, *head;
  } known[] = {{"even", "Done: the engine is even."},
               {"claimed", "Done, with less than was wanted."},
               {"stopped", "Stopped."},
               {"failed", "The procedure failed."}};
  char tolerance[EB_FORMAT_SIZE];
  char risk[EB_FORMAT_SIZE];
  const char *outcome = eb_json_get_string(message, "outcome", "");
  eb_page_blank(&view->page);
  bool cold = strcmp(outcome, "claimed") == 0 && all_cold_even(message);
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
    if (strcmp(outcome, known[i].outcome) == 0)
      eb_page_paragraph(&view->page, EB_STRONG, "", "", cold ? "Done: the plates are even." : known[i].head);
  const eb_json *claim = eb_json_get(message, "claim");
  double claimed = eb_format_round_up(eb_json_get_number(claim, "tolerance", 1));
  if (eb_json_is_object(claim) && claimed < 1)
    eb_page_sayf(&view->page, "Claim: even within %s, at a risk of %s of being wrong.",
                 eb_format_percent(claimed, false, tolerance),
                 eb_format_percent(eb_json_get_number(claim, "risk", 0), false, risk));
  if (strcmp(outcome, "failed") != 0) /* why stands on a line of its own, on standard error */
    eb_page_say(&view->page, eb_json_get_string(message, "summary", ""));
}

bool eb_view_show(eb_view *view, const eb_json *message)
{
  const char *type = eb_json_get_string(message, "type", "");
  bool kept = true;
  if (strcmp(type, "hello") == 0)
    kept = show_hello(view, message);
  else if (strcmp(type, "tell") == 0)
    kept = show_tell(view, message);
  else if (strcmp(type, "ask") == 0)
    kept = show_ask(view, message);
  else if (strcmp(type, "refused") == 0)
    show_refused(view, message);
  else if (strcmp(type, "end") == 0)
    show_end(view, message);
  return kept && !view->page.text.failed;
}

void eb_view_keys(eb_page *page)
{
  eb_page_paragraph(page, EB_PLAIN, "Keys: ", "      ",
                    "back -   note +   why *   chart /   pause //   stop --   help **");
}
