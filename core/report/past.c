#include "past.h"

#include "evenbore/gauge.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* What stands behind a doubt where an older journal does not say: the least that a gauge's own figure counts for. */
static const double DEGREES_USUAL = 4;
static const double LEAST_DOUBT = 1e-6;

static eb_doubted doubted(const eb_json *from, const char *key, double degrees)
{
  return (eb_doubted){.value = log1p(fmax(eb_json_get_number(from, key, 0), -0.999)),
                      .doubt = fmax(log1p(fmax(eb_json_get_number(from, "doubt", 0), 0)), LEAST_DOUBT),
                      .degrees_of_freedom = fmax(degrees, 0.1)};
}

static void read_contrasts(const past *p, const eb_json *verdict, double degrees, past_verdict *made)
{
  const eb_json *contrast = eb_json_first(eb_json_get(verdict, "contrasts"));
  for (; contrast != NULL; contrast = eb_json_next(contrast)) {
    int k = eb_layout_adjuster(&p->layout, eb_json_get_string(contrast, "adjuster", ""));
    if (k >= 0 && eb_json_is_number(eb_json_get(contrast, "value")))
      made->contrast[k] = (past_contrast){true, doubted(contrast, "value", degrees)};
  }
}

static void read_verdict(const past *p, const story_verdict *v, double usual, past_verdict *made)
{
  if (v == NULL || !p->has_layout)
    return;
  double degrees = eb_json_get_number(v->verdict, "degrees_of_freedom", usual);
  *made = (past_verdict){.there = true, .record = v->record, .spread = v->spread, .claim = v->claim};
  for (int i = 0; i < p->layout.bore_count; i++) {
    const eb_json *bore = eb_json_get(eb_json_get(v->verdict, "bores"), p->layout.bore[i]);
    bool counts = eb_json_is_number(eb_json_get(bore, "deviation"));
    if (counts)
      made->bore[i] = (past_bore){true, doubted(bore, "deviation", degrees)};
  }
  read_contrasts(p, v->verdict, degrees, made);
}

static void read_moves(const story *s, past *made)
{
  for (size_t i = 0; i < s->move_count; i++) {
    if (!eb_json_get_bool(s->move[i].value, "done", false))
      continue;
    made->moves++;
    int k = s->has_layout ? eb_layout_adjuster(&s->layout, eb_json_get_string(s->move[i].ask, "adjuster", "")) : -1;
    if (k >= 0)
      made->moved[k] = true;
  }
}

static void read_repeats(const story *s, past *made)
{
  const eb_json *own = eb_json_get(s->end, "repeats");
  const story_verdict *last = story_last(s);
  made->repeats =
      (eb_spread){eb_json_get_number(own, "repeatability", 0), eb_json_get_number(own, "degrees_of_freedom", 0)};
  made->repeats_own = made->repeats.degrees_of_freedom > 0;
  if (!made->repeats_own && last != NULL)
    made->repeats = (eb_spread){eb_json_get_number(last->verdict, "repeatability", 0),
                                eb_json_get_number(last->verdict, "degrees_of_freedom", 0)};
}

static void read_gauge(const eb_json *gauge, past *made)
{
  char low[EB_FORMAT_SIZE], high[EB_FORMAT_SIZE], step[EB_FORMAT_SIZE];
  snprintf(made->gauge, sizeof made->gauge, "%s to %s %.20s, read to %s",
           eb_format_plain(eb_json_get_number(gauge, "low", 0), low),
           eb_format_plain(eb_json_get_number(gauge, "high", 0), high), eb_json_get_string(gauge, "unit", ""),
           eb_format_plain(eb_json_get_number(gauge, "step", 0), step));
}

/* The numbers that were asked for, while there is room. */
static void read_conditions(const story *s, past *made)
{
  size_t used = 0;
  for (size_t i = 0; i < s->account->count; i++) {
    const eb_json *record = eb_account_record(s->account, i);
    const eb_json *ask = eb_json_get(record, "ask");
    char value[100];
    if (s->account->taken_back_by[i] != 0 || strcmp(eb_json_get_string(ask, "kind", ""), "number") != 0)
      continue;
    eb_format_value(eb_json_get(record, "value"), eb_json_get_string(record, "unit", ""), value, sizeof value);
    const char *title = eb_json_get_string(ask, "title", "?");
    if (used + strlen(title) + strlen(value) + 5 > sizeof made->conditions)
      break;
    used += (size_t)snprintf(made->conditions + used, sizeof made->conditions - used, "%s%s: %s", used == 0 ? "" : "; ",
                             title, value);
  }
}

static void fill(const story *s, const char *name, past *made)
{
  const eb_json *open = s->open;
  *made = (past){.state = s->state, .has_layout = s->has_layout, .records = s->account->count};
  snprintf(made->name, sizeof made->name, "%s", name);
  snprintf(made->time, sizeof made->time, "%s", eb_json_get_string(open, "time", ""));
  made->begun_ms = eb_format_time_ms(made->time);
  snprintf(made->procedure, sizeof made->procedure, "%.40s %.30s",
           eb_json_get_string(eb_json_get(open, "procedure"), "id", "?"),
           eb_json_get_string(eb_json_get(open, "procedure"), "version", ""));
  snprintf(made->digest, sizeof made->digest, "%s", eb_journal_digest(s->account->journal));
  made->torn = s->account->recovery.torn_bytes > 0;
  if (s->has_layout)
    made->layout = s->layout;
  double usual = eb_json_get_number(eb_json_get(open, "gauge"), "repeatability_weight", DEGREES_USUAL);
  read_verdict(made, story_first(s), usual, &made->first);
  read_verdict(made, story_last(s), usual, &made->last);
  made->claims = story_claim(s, &made->claim, &made->claim_risk);
  made->tolerance = eb_json_get_number(open, "tolerance", 0.05);
  made->risk = eb_json_get_number(open, "risk", 0.05);
  read_moves(s, made);
  read_repeats(s, made);
  read_gauge(eb_json_get(open, "gauge"), made);
  read_conditions(s, made);
}

eb_status past_read(const eb_account *account, const char *name, past *made, eb_error *error)
{
  story s;
  eb_status status = story_read(account, NULL, &s, error);
  if (status != EB_OK)
    return status;
  fill(&s, name, made);
  story_clear(&s);
  return EB_OK;
}

const char *past_state(const past *p)
{
  switch (p->state) {
  case STORY_OPEN: return p->torn ? "not over, its last record cut off" : "not over";
  case STORY_STOPPED: return "stopped";
  case STORY_FAILED: return "failed";
  case STORY_DAMAGED: return "damaged";
  case STORY_ENDED: break;
  }
  return p->claims && p->claim <= p->tolerance ? "even" : p->claims ? "claimed" : "ended";
}

bool past_is_before(const past *a, const past *b)
{
  if (a->begun_ms != b->begun_ms)
    return a->begun_ms < b->begun_ms;
  int order = strcmp(a->time, b->time);
  return order != 0 ? order < 0 : strcmp(a->name, b->name) < 0;
}

bool past_same_bores(const past *a, const past *b)
{
  bool same = a->has_layout && b->has_layout && a->layout.bore_count == b->layout.bore_count &&
              a->layout.row_count == b->layout.row_count;
  for (int r = 0; same && r < a->layout.row_count; r++)
    same = a->layout.row_size[r] == b->layout.row_size[r];
  for (int i = 0; same && i < a->layout.bore_count; i++)
    same = strcmp(a->layout.bore[i], b->layout.bore[i]) == 0;
  return same;
}

bool past_same_gauge(const past *a, const past *b)
{
  return strcmp(a->gauge, b->gauge) == 0;
}

int past_same_adjuster(const past *a, int adjuster, const past *b)
{
  const eb_adjuster *part = &a->layout.adjuster[adjuster];
  int k = eb_layout_adjuster(&b->layout, part->id);
  if (k < 0 || !past_same_bores(a, b))
    return -1;
  const eb_adjuster *other = &b->layout.adjuster[k];
  bool same = part->first == other->first && part->second == other->second && strcmp(part->kind, other->kind) == 0;
  return same ? k : -1;
}

int past_differ(const past_verdict *before, const past_verdict *after, int bore_count, double risk, int *bores,
                eb_difference *differs, eb_difference *all)
{
  eb_doubted first[EB_BORES_MAX], second[EB_BORES_MAX];
  int count = 0;
  for (int i = 0; before->there && after->there && i < bore_count; i++) {
    if (!before->bore[i].counts || !after->bore[i].counts)
      continue;
    first[count] = before->bore[i].from;
    second[count] = after->bore[i].from;
    bores[count++] = i;
  }
  if (count >= 2)
    *all = eb_difference_of_all(first, second, count, risk, differs);
  return count;
}

const char *past_say(bool known, double value, double doubt, char *text)
{
  char share[EB_FORMAT_SIZE], around[EB_FORMAT_SIZE];
  if (!known)
    return "\xe2\x80\x93";
  eb_format_fixed(expm1(value) * 100, 1, share);
  snprintf(text, (size_t)EB_FORMAT_SIZE * 2, "%s%s \xc2\xb1%s %%", value < 0 ? "" : "+", share,
           eb_format_fixed(doubt * 100, 1, around));
  return text;
}

const char *past_say_percent(bool known, double share, char text[EB_FORMAT_SIZE])
{
  return known ? eb_format_percent(share, false, text) : "\xe2\x80\x93";
}

const char *past_say_p(double p, char text[EB_FORMAT_SIZE])
{
  char number[EB_FORMAT_SIZE];
  if (p < 0.001)
    snprintf(text, EB_FORMAT_SIZE, "p < 0.001");
  else
    snprintf(text, EB_FORMAT_SIZE, "p = %s", eb_format_fixed(p, 3, number));
  return text;
}
