/* A practice at the terminal: messages reach the bay, sights the page, answers the engine. */
#include "practice.h"

#include "needle.h"
#include "sight.h"

#include "evenbore/account.h"
#include "evenbore/format.h"
#include "evenbore/quantity.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static bool is_kind(const eb_json *ask, const char *kind)
{
  return strcmp(eb_json_get_string(ask, "kind", ""), kind) == 0;
}

/* False where memory ran out; then what was kept stays. */
static bool keep(eb_json **kept, const eb_json *value)
{
  eb_json *copy = eb_json_copy(value);
  if (copy == NULL)
    return false;
  eb_json_destroy(*kept);
  *kept = copy;
  return true;
}

static bool fail(const eb_practice *p, const eb_error *error)
{
  eb_run_complain(p->run, error);
  return false;
}

/* An engine is made when its layout is told, and refuses what it cannot have. */
static bool fail_fault(const eb_practice *p, const eb_error *met)
{
  eb_error error;
  if (met->status != EB_REFUSED)
    return fail(p, met);
  eb_fail(&error, met->status, "--fault", "%s; practise without it, or with another procedure", met->message);
  return fail(p, &error);
}

static bool out_of_memory(const eb_practice *p)
{
  eb_run_remark(p->run, "out of memory");
  return false;
}

static void set_clock(eb_practice *p)
{
  eb_bay_work work;
  eb_bay_account(p->bay, &work);
  eb_scratch_set_time(p->scratch, work.minutes);
}

static bool note_ask(eb_practice *p, const eb_json *ask)
{
  const char *condition = eb_json_get_string(ask, "condition", "idle");
  if (is_kind(ask, "reading"))
    p->idles = condition[0] == '\0' || strcmp(condition, "idle") == 0;
  p->looked = false;
  p->by_feel = false;
  return keep(&p->ask, ask);
}

static bool note_tell(eb_practice *p, const eb_json *tell)
{
  const eb_json *verdict = eb_json_get(tell, "verdict");
  if (verdict == NULL || !p->idles)
    return true;
  p->stale = false;
  return keep(&p->verdict, verdict);
}

static bool hear(void *context, const eb_json *message)
{
  eb_practice *p = context;
  eb_error error;
  const char *type = eb_json_get_string(message, "type", "");
  const eb_json *layout = eb_json_get(message, "layout");
  bool new_engine = eb_bay_engine(p->bay) == NULL;
  if (eb_bay_hear(p->bay, message, &error) != EB_OK)
    return fail_fault(p, &error);
  if (new_engine && eb_bay_engine(p->bay) != NULL)
    eb_bay_truth(p->bay, &p->began, NULL);
  bool kept = !eb_json_is_object(layout) || keep(&p->layout, layout);
  if (kept && strcmp(type, "ask") == 0)
    kept = note_ask(p, message);
  else if (kept && strcmp(type, "tell") == 0)
    kept = note_tell(p, message);
  else if (kept && strcmp(type, "end") == 0)
    kept = keep(&p->end, message);
  return kept || out_of_memory(p);
}

static void show_sight(eb_practice *p, eb_page *page)
{
  bool flutters = p->sight.dial == EB_DIAL_GAUGE;
  if (flutters && !p->explained)
    eb_needle_explain(page);
  p->explained = p->explained || flutters;
  eb_sight_show(page, &p->sight, p->ask, p->layout, eb_bay_engine(p->bay));
}

static const struct {
  const char *word;
  double move; /* ln */
} feels[] = {{"nothing", 0}, {"hair", 0.01}, {"little", 0.03}, {"more", 0.06}, {"much", 0.12}};

static void offer_feel(eb_page *page)
{
  eb_page_say(page, "Or by feel: hair, little, more, much; other hair: the other way; nothing: leave it as it stands.");
}

static bool show(void *context, eb_page *page, const eb_json *ask)
{
  eb_practice *p = context;
  eb_error error;
  (void)ask; /* it was heard */
  if (p->run->options.watch)
    return true;
  if (!p->looked && eb_bay_look(p->bay, p->ask, &p->sight, &error) != EB_OK)
    return fail(p, &error);
  p->looked = true;
  set_clock(p);
  show_sight(p, page);
  if (is_kind(p->ask, "adjust"))
    offer_feel(page);
  return true;
}

/* One word of a move by feel, in small letters; false at the end of the line, or at a word too long for any. */
static bool next_word(const char **at, const char *end, char word[12])
{
  size_t size = 0;
  while (*at < end && strchr(" \t,", **at) != NULL)
    (*at)++;
  for (; *at < end && strchr(" \t,", **at) == NULL && size + 1 < 12; (*at)++)
    word[size++] = (char)tolower((unsigned char)**at);
  word[size] = '\0';
  return size > 0;
}

/* "a hair", "other way, a little". */
static bool read_feel(const char *typed, size_t size, double *move)
{
  static const char *const filling[] = {"a", "the", "way", "bit"};
  const char *at = typed;
  char word[12];
  double sign = 1;
  bool sized = false;
  while (next_word(&at, typed + size, word)) {
    bool known = strcmp(word, "other") == 0;
    if (known)
      sign = -1;
    for (size_t i = 0; i < sizeof filling / sizeof filling[0]; i++)
      known = known || strcmp(word, filling[i]) == 0;
    for (size_t i = 0; i < sizeof feels / sizeof feels[0]; i++)
      if (!sized && strcmp(word, feels[i].word) == 0) {
        *move = feels[i].move;
        sized = known = true;
      }
    if (!known)
      return false;
  }
  *move *= sign;
  return sized;
}

static const char *translate(void *context, const eb_json *ask, const char *typed, size_t *size)
{
  static const char done[] = "1";
  eb_practice *p = context;
  double move = 0;
  p->by_feel = is_kind(ask, "adjust") && read_feel(typed, *size, &move);
  if (!p->by_feel)
    return typed;
  p->felt_move = copysign(1, eb_json_get_number(ask, "move", 1)) * move;
  *size = strlen(done);
  return done;
}

/* The part of the move that a typed amount is of the one asked for; typed without a sign it goes the same way. */
static double part_of(const eb_json *asked, const eb_json *amount)
{
  double wanted = eb_json_get_number(asked, "value", 0), done = eb_json_get_number(amount, "value", 0);
  const char *from = eb_json_get_string(amount, "unit", ""), *to = eb_json_get_string(asked, "unit", "");
  double converted = done;
  if (eb_unit_convert(EB_LENGTH, done, from, to, &converted, NULL) != EB_OK &&
      eb_unit_convert(EB_ANGLE, done, from, to, &converted, NULL) != EB_OK)
    converted = done;
  if (!(fabs(wanted) > 0))
    return 1;
  return converted < 0 ? converted / wanted : converted / fabs(wanted);
}

/* No adjuster has more travel than this, ln of air. */
static double within_travel(double move)
{
  static const double MOST = 0.5;
  return fmin(fmax(move, -MOST), MOST);
}

static double move_of(const eb_practice *p, const eb_json *value)
{
  double asked = eb_json_get_number(p->ask, "move", 0);
  const eb_json *amount = eb_json_get(value, "amount");
  if (p->by_feel)
    return p->felt_move;
  if (eb_json_is_object(amount) && eb_json_is_object(eb_json_get(p->ask, "amount")))
    return within_travel(asked * part_of(eb_json_get(p->ask, "amount"), amount));
  return within_travel(asked);
}

/* Whether what was done while it stood made it more even. */
static void judge_stop(eb_practice *p)
{
  static const double CLEARLY = 0.005;
  double now = eb_bay_spread(p->bay, NULL);
  if (strcmp(eb_json_get_string(p->ask, "state", ""), "running") == 0) {
    p->stops_for_worse += p->moved && now > p->before_stop + CLEARLY;
    p->moved = false;
  } else
    p->before_stop = now;
}

static void do_answer(eb_practice *p, eb_page *page, const eb_json *value)
{
  eb_felt felt;
  if (is_kind(p->ask, "engine"))
    judge_stop(p);
  eb_bay_act(p->bay, p->ask, value, move_of(p, value), &felt);
  p->moved = p->moved || felt.moved;
  p->stale = p->stale || felt.moved;
  set_clock(p);
  eb_sight_felt(page, &felt, p->ask);
}

/* The answer as it was taken stands in the record. */
static void act(void *context, eb_page *page)
{
  eb_practice *p = context;
  eb_account account;
  const eb_json *value = NULL;
  if (eb_account_read(eb_scratch_host(p->scratch), "practice.jsonl", &account, NULL) != EB_OK) {
    page->text.failed = true;
    return;
  }
  for (size_t i = account.count; i > 0 && value == NULL; i--)
    if (eb_account_is(&account, i - 1, "answer"))
      value = eb_json_get(eb_account_record(&account, i - 1), "value");
  do_answer(p, page, value);
  eb_account_clear(&account);
}

static void say_answer(eb_page *page, const eb_json *ask, const char *line)
{
  eb_json *answer = NULL;
  char words[256];
  if (eb_json_parse(line, strlen(line), &answer, NULL) != EB_OK) {
    page->text.failed = true;
    return;
  }
  const eb_json *value = eb_json_get(answer, "value");
  eb_format_value(value, eb_json_get_string(ask, "unit", ""), words, sizeof words);
  eb_page_paragraph(page, EB_STRONG, "> ", "  ", value == NULL ? eb_json_get_string(answer, "why", "stop") : words);
  eb_json_destroy(answer);
}

/* What the tuner saw, and what it made of that. */
static const char *answer(void *context, eb_page *page, const eb_json *ask)
{
  eb_practice *p = context;
  eb_error error;
  if (is_kind(ask, "engine"))
    judge_stop(p);
  if (eb_bay_answer(p->bay, ask, p->line, sizeof p->line, &error) != EB_OK) {
    eb_run_complain(p->run, &error);
    return NULL;
  }
  eb_bay_seen(p->bay, &p->sight);
  bool moves = is_kind(ask, "adjust");
  p->moved = p->moved || moves;
  p->stale = p->stale || moves;
  set_clock(p);
  show_sight(p, page);
  say_answer(page, ask, p->line);
  return p->line;
}

static void farewell(void *context, eb_page *page)
{
  eb_practice_say_truth(context, page);
}

eb_company eb_practice_company(eb_practice *p)
{
  enum { PACE_MS = 12 };
  const eb_options *o = &p->run->options;
  return (eb_company){.context = p,
                      .hear = hear,
                      .show = show,
                      .translate = translate,
                      .act = act,
                      .answer = o->watch ? answer : NULL,
                      .pace_ms = o->fast ? 0 : PACE_MS,
                      .farewell = farewell};
}
