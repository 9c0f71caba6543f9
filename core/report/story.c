#include "story.h"

#include "evenbore/format.h"
#include "evenbore/known.h"

#include <math.h>
#include <string.h>

static const char *message_kind(const eb_json *record)
{
  return eb_json_get_string(eb_json_get(record, "message"), "kind", "");
}

static bool holds(const eb_account *account, size_t index)
{
  return account->taken_back_by[index] == 0;
}

static bool is_verdict(const eb_account *account, size_t index)
{
  const eb_json *record = eb_account_record(account, index);
  return holds(account, index) && strcmp(message_kind(record), "verdict") == 0 &&
         eb_json_is_object(eb_json_get(eb_json_get(record, "message"), "verdict"));
}

static const eb_json *verdict_at(const eb_account *account, size_t index)
{
  return eb_json_get(eb_json_get(eb_account_record(account, index), "message"), "verdict");
}

static bool is_move(const eb_account *account, size_t index)
{
  const eb_json *record = eb_account_record(account, index);
  return holds(account, index) && eb_account_is(account, index, "answer") &&
         strcmp(eb_json_get_string(eb_json_get(record, "ask"), "kind", ""), "adjust") == 0;
}

static bool was_done(const story_move *move)
{
  return eb_json_get_bool(move->value, "done", false);
}

bool story_is_main(const story *s, const story_verdict *verdict)
{
  return strcmp(verdict->condition, s->condition) == 0;
}

static const story_verdict *main_verdict(const story *s, size_t from_end)
{
  for (size_t i = 0; i < s->verdict_count; i++) {
    const story_verdict *v = &s->verdict[from_end ? s->verdict_count - 1 - i : i];
    if (story_is_main(s, v))
      return v;
  }
  return NULL;
}

const story_verdict *story_first(const story *s)
{
  return main_verdict(s, false);
}

const story_verdict *story_last(const story *s)
{
  return main_verdict(s, true);
}

static void add_verdict(story *s, size_t index)
{
  const eb_json *verdict = verdict_at(s->account, index);
  s->verdict[s->verdict_count++] = (story_verdict){
      .record = index + 1,
      .verdict = verdict,
      .condition = eb_json_get_string(verdict, "condition", "idle"),
      .spread = eb_json_get_number(verdict, "spread", 0),
      .claim = eb_json_get_number(verdict, "claim", 1),
      .moves_before = s->done_count,
  };
}

/* Idle, where it came to that. */
static void find_condition(story *s)
{
  s->condition = "idle";
  const char *first = NULL;
  for (size_t i = 0; i < s->account->count; i++) {
    if (!is_verdict(s->account, i))
      continue;
    const char *condition = eb_json_get_string(verdict_at(s->account, i), "condition", "idle");
    if (strcmp(condition, "idle") == 0)
      return;
    first = first == NULL ? condition : first;
  }
  s->condition = first == NULL ? "idle" : first;
}

static void add_move(story *s, size_t index, const eb_json *plan)
{
  const eb_json *record = eb_account_record(s->account, index);
  s->move[s->move_count++] = (story_move){
      .record = index + 1,
      .ask = eb_json_get(record, "ask"),
      .value = eb_json_get(record, "value"),
      .plan = plan,
      .before = story_last(s),
  };
  s->done_count += was_done(&s->move[s->move_count - 1]) ? 1 : 0;
}

/* Both stand in the order of the journal. */
static void link_after(story *s)
{
  size_t v = 0;
  for (size_t m = 0; m < s->move_count; m++) {
    while (v < s->verdict_count && (s->verdict[v].record < s->move[m].record || !story_is_main(s, &s->verdict[v])))
      v++;
    s->move[m].after = v < s->verdict_count ? &s->verdict[v] : NULL;
  }
}

/* Verdicts are kept in an array of the size that all of them need, so that pointers to them stay. */
static eb_status collect(story *s, eb_error *error)
{
  const eb_account *account = s->account;
  const eb_host *host = account->host;
  size_t verdicts = 0, moves = 0;
  for (size_t i = 0; i < account->count; i++) {
    verdicts += is_verdict(account, i) ? 1 : 0;
    moves += is_move(account, i) ? 1 : 0;
  }
  s->verdict = host->allocate(host->context, NULL, (verdicts + 1) * sizeof *s->verdict);
  s->move = host->allocate(host->context, NULL, (moves + 1) * sizeof *s->move);
  if (s->verdict == NULL || s->move == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  const eb_json *plan = NULL;
  find_condition(s);
  for (size_t i = 0; i < account->count; i++) {
    if (is_verdict(account, i))
      add_verdict(s, i);
    else if (is_move(account, i))
      add_move(s, i, plan);
    else if (holds(account, i) && strcmp(message_kind(eb_account_record(account, i)), "plan") == 0)
      plan = eb_json_get(eb_json_get(eb_account_record(account, i), "message"), "plan");
  }
  link_after(s);
  return EB_OK;
}

static story_state find_state(const story *s)
{
  if (s->account->recovery.damaged_record > 0)
    return STORY_DAMAGED;
  if (s->end == NULL)
    return STORY_OPEN;
  const char *outcome = eb_json_get_string(s->end, "outcome", "");
  if (strcmp(outcome, "stopped") == 0)
    return STORY_STOPPED;
  return strcmp(outcome, "failed") == 0 ? STORY_FAILED : STORY_ENDED;
}

/* eb_account_layout gives the form of the line protocol, which the reader of layouts takes but for `bores`. */
static bool read_layout(story *s)
{
  eb_json *json = eb_account_layout(s->account);
  if (json != NULL)
    eb_json_remove(json, "bores");
  bool read = json != NULL && eb_layout_read(json, "layout", &s->layout, NULL) == EB_OK;
  eb_json_destroy(json);
  return read;
}

eb_status story_read(const eb_account *account, const char *reader, story *s, eb_error *error)
{
  *s = (story){
      .account = account, .reader = reader, .open = eb_account_record(account, 0), .end = eb_account_end(account)};
  s->has_layout = read_layout(s);
  s->state = find_state(s);
  eb_status status = collect(s, error);
  if (status != EB_OK)
    story_clear(s);
  return status;
}

void story_clear(story *s)
{
  const eb_host *host = s->account->host;
  host->allocate(host->context, s->verdict, 0);
  host->allocate(host->context, s->move, 0);
  s->verdict = NULL;
  s->move = NULL;
}

bool story_claim(const story *s, double *tolerance, double *risk)
{
  const eb_json *claim = eb_json_get(s->end, "claim");
  *tolerance = eb_json_get_number(claim, "tolerance", 1);
  *risk = eb_json_get_number(claim, "risk", 0);
  return (s->state == STORY_ENDED || s->state == STORY_STOPPED) && *tolerance < 1 && *risk > 0;
}

/* Mean of ln(1 + deviation) over one side, and its variance. */
static bool side_mean(const story *s, eb_bores side, const eb_json *bores, double *mean, double *variance)
{
  int count = 0;
  *mean = *variance = 0;
  for (int i = 0; i < s->layout.bore_count; i++) {
    if ((side >> i & 1) == 0)
      continue;
    const eb_json *bore = eb_json_get(bores, s->layout.bore[i]);
    const eb_json *deviation = eb_json_get(bore, "deviation");
    if (!eb_json_is_number(deviation) || eb_json_as_number(deviation, 0) <= -1)
      return false;
    double doubt = eb_json_get_number(bore, "doubt", 0);
    *mean += log1p(eb_json_as_number(deviation, 0));
    *variance += doubt * doubt;
    count++;
  }
  if (count == 0)
    return false;
  *mean /= count;
  *variance /= (double)count * count;
  return true;
}

bool story_contrast(const story *s, const eb_json *bores, const eb_adjuster *adjuster, double *value, double *doubt)
{
  double first, second = 0, v1, v2 = 0;
  if (!side_mean(s, adjuster->first, bores, &first, &v1))
    return false;
  if (adjuster->second != 0 && !side_mean(s, adjuster->second, bores, &second, &v2))
    return false;
  *value = first - second;
  *doubt = sqrt(v1 + v2);
  return true;
}

static bool expected_mean(const story *s, eb_bores side, const eb_json *expected, double *mean)
{
  int count = 0;
  *mean = 0;
  for (int i = 0; i < s->layout.bore_count; i++) {
    if ((side >> i & 1) == 0)
      continue;
    const eb_json *number = eb_json_get(expected, s->layout.bore[i]);
    if (!eb_json_is_number(number) || eb_json_as_number(number, 0) <= -1)
      return false;
    *mean += log1p(eb_json_as_number(number, 0));
    count++;
  }
  *mean /= count > 0 ? count : 1;
  return count > 0;
}

bool story_expected(const story *s, const eb_json *plan, const eb_adjuster *adjuster, double *value)
{
  const eb_json *expected = eb_json_get(plan, "expected");
  double first, second = 0;
  if (!expected_mean(s, adjuster->first, expected, &first))
    return false;
  if (adjuster->second != 0 && !expected_mean(s, adjuster->second, expected, &second))
    return false;
  *value = first - second;
  return true;
}

const char *story_value(const eb_json *value, char text[EB_FORMAT_SIZE])
{
  double number = eb_json_as_number(value, 0);
  double part = fabs(number) < 1 ? 1000 : 100;
  return eb_format_plain(round(number * part) / part, text);
}

const char *story_unit(const story *s, const story_verdict *verdict)
{
  return eb_json_get_string(verdict->verdict, "unit", eb_json_get_string(eb_json_get(s->open, "gauge"), "unit", ""));
}

void story_known(const story *s, eb_text *text)
{
  const eb_json *known = eb_json_get(s->open, "known");
  if (!eb_json_is_object(known))
    return;
  eb_json *layout = s->has_layout ? eb_layout_json(&s->layout) : NULL;
  eb_known_words(known, layout, text);
  text->failed = text->failed || (s->has_layout && layout == NULL);
  eb_json_destroy(layout);
}
