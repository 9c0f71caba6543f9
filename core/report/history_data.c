/* The history as JSON and as separated values. */
#include "forms.h"
#include "series.h"
#include "sheet.h"

#include <math.h>
#include <string.h>

static bool set_or_null(eb_json *json, const char *key, bool known, double value)
{
  return eb_json_set(json, key, known ? eb_json_from_number(value) : eb_json_null());
}

static bool set_test(eb_json *json, const eb_difference *d)
{
  return eb_json_set_number(json, "degrees_of_freedom", fmin(d->degrees_of_freedom, 1e4)) &&
         eb_json_set_number(json, "p", d->p) && eb_json_set_bool(json, "beyond", d->beyond);
}

eb_json *series_difference_json(const eb_difference *d)
{
  eb_json *json = eb_json_object();
  if (eb_json_set_number(json, "value_ln", d->value) && eb_json_set_number(json, "doubt_ln", d->doubt) &&
      set_test(json, d))
    return json;
  eb_json_destroy(json);
  return NULL;
}

eb_json *series_all_json(const series_gap *gap)
{
  if (gap->count < 2)
    return eb_json_null();
  eb_json *json = eb_json_object();
  if (eb_json_set_number(json, "bores", gap->count) && eb_json_set_number(json, "f", gap->all.value) &&
      set_test(json, &gap->all))
    return json;
  eb_json_destroy(json);
  return NULL;
}

eb_json *series_bores_json(const past *p, const int *bore, const eb_difference *differs, int count)
{
  eb_json *json = eb_json_object();
  bool made = json != NULL;
  for (int i = 0; made && i < count; i++)
    made = eb_json_set(json, p->layout.bore[bore[i]], series_difference_json(&differs[i]));
  if (made)
    return json;
  eb_json_destroy(json);
  return NULL;
}

static eb_json *verdict_json(const past *p, const past_verdict *verdict)
{
  if (!verdict->there)
    return eb_json_null();
  eb_json *json = eb_json_object(), *bores = eb_json_object();
  bool made = eb_json_set_number(json, "record", (double)verdict->record) &&
              eb_json_set_number(json, "spread_share", verdict->spread) &&
              eb_json_set_number(json, "claim_share", verdict->claim);
  for (int i = 0; made && i < p->layout.bore_count; i++) {
    eb_json *one = eb_json_object();
    made = set_or_null(one, "deviation_ln", verdict->bore[i].counts, verdict->bore[i].from.value) &&
           set_or_null(one, "doubt_ln", verdict->bore[i].counts, verdict->bore[i].from.doubt);
    made = eb_json_set(bores, p->layout.bore[i], one) && made;
  }
  made = eb_json_set(json, "bores", bores) && made;
  if (made)
    return json;
  eb_json_destroy(json);
  return NULL;
}

eb_json *series_session_json(const past *p)
{
  eb_json *json = eb_json_object();
  bool made =
      eb_json_set_string(json, "name", p->name) && eb_json_set_string(json, "begun", p->time) &&
      eb_json_set_string(json, "state", past_state(p)) && eb_json_set_string(json, "procedure", p->procedure) &&
      eb_json_set_string(json, "gauge", p->gauge) && eb_json_set_number(json, "records", (double)p->records) &&
      eb_json_set_string(json, "digest", p->digest) && set_or_null(json, "claim_share", p->claims, p->claim) &&
      eb_json_set_number(json, "tolerance_share", p->tolerance) && eb_json_set_number(json, "moves", p->moves) &&
      set_or_null(json, "repeatability_share", p->repeats.degrees_of_freedom > 0, p->repeats.deviation) &&
      eb_json_set_number(json, "repeatability_degrees_of_freedom", p->repeats.degrees_of_freedom) &&
      eb_json_set_bool(json, "repeatability_own", p->repeats_own) &&
      eb_json_set(json, "before", verdict_json(p, &p->first)) && eb_json_set(json, "after", verdict_json(p, &p->last));
  if (made)
    return json;
  eb_json_destroy(json);
  return NULL;
}

static eb_json *adjuster_json(const series_gap *gap, int index)
{
  int k = gap->adjuster[index];
  const eb_doubted *was = &gap->from->last.contrast[k].from, *is = &gap->to->first.contrast[gap->there[index]].from;
  eb_json *json = eb_json_object();
  bool made =
      eb_json_set_string(json, "adjuster", gap->from->layout.adjuster[k].id) &&
      eb_json_set_string(json, "title", gap->from->layout.adjuster[k].title) &&
      eb_json_set_bool(json, "moved", gap->from->moved[k]) && eb_json_set_number(json, "left_at_ln", was->value) &&
      eb_json_set_number(json, "left_doubt_ln", was->doubt) && eb_json_set_number(json, "found_at_ln", is->value) &&
      eb_json_set_number(json, "found_doubt_ln", is->doubt) &&
      eb_json_set(json, "difference", series_difference_json(&gap->contrast[index]));
  if (made)
    return json;
  eb_json_destroy(json);
  return NULL;
}

static bool add_gap(eb_json *list, const series_gap *gap)
{
  eb_json *json = eb_json_object(), *adjusters = eb_json_array();
  bool made = eb_json_set_string(json, "from", gap->from->name) && eb_json_set_string(json, "to", gap->to->name) &&
              eb_json_set_bool(json, "same_bores", gap->same_bores) &&
              eb_json_set_bool(json, "same_gauge", past_same_gauge(gap->from, gap->to)) &&
              eb_json_set(json, "all", series_all_json(gap)) &&
              eb_json_set(json, "bores",
                          series_bores_json(gap->from, gap->bore, gap->differs, gap->count < 2 ? 0 : gap->count));
  for (int i = 0; made && i < gap->adjusters; i++)
    made = eb_json_add(adjusters, adjuster_json(gap, i));
  made = eb_json_set(json, "adjusters", adjusters) && made;
  return eb_json_add(list, json) && made;
}

static bool add_left_out(eb_json *list, const series_left_out *out)
{
  eb_json *json = eb_json_object();
  bool made = eb_json_set_string(json, "name", out->name) && eb_json_set_string(json, "why", out->why);
  return eb_json_add(list, json) && made;
}

void history_json(const eb_history *h, eb_text *text)
{
  eb_json *json = eb_json_object(), *sessions = eb_json_array(), *between = eb_json_array(), *out = eb_json_array();
  bool made = eb_json_set_string(json, "format", "evenbore history") && eb_json_set_number(json, "version", 1) &&
              eb_json_set_string(json, "engine", h->engine);
  for (size_t i = 0; made && i < h->count; i++) {
    series_gap gap;
    made = eb_json_add(sessions, series_session_json(series_at(h, i)));
    if (made && series_gap_before(h, i, &gap))
      made = add_gap(between, &gap);
  }
  for (size_t i = 0; made && i < h->left_out_count; i++)
    made = add_left_out(out, &h->left_out[i]);
  made = eb_json_set(json, "sessions", sessions) && made;
  made = eb_json_set(json, "between", between) && made;
  made = eb_json_set(json, "left_out", out) && made;
  form_json_end(text, json, made);
}

static void begin(sheet *out, const past *p, const char *kind, const char *name)
{
  sheet_field(out, p->name);
  sheet_field(out, p->time);
  sheet_field(out, past_state(p));
  sheet_field(out, kind);
  sheet_field(out, name);
}

static void end(sheet *out, const eb_difference *since, bool value)
{
  char number[EB_FORMAT_SIZE];
  sheet_percent(out, since != NULL && value, since == NULL ? 0 : expm1(since->value));
  sheet_percent(out, since != NULL && value, since == NULL ? 0 : since->doubt);
  if (since == NULL)
    sheet_field(out, "");
  else
    sheet_number(out, eb_format_fixed(since->p, 6, number));
  sheet_field(out, since == NULL ? "" : since->beyond ? "beyond doubt" : "within doubt");
  sheet_end(out);
}

static void add_doubted(sheet *out, bool known, const eb_doubted *from)
{
  sheet_percent(out, known, expm1(from->value));
  sheet_percent(out, known, from->doubt);
}

static void add_bores(sheet *out, const past *p, const series_gap *gap)
{
  for (int i = 0; p->has_layout && i < p->layout.bore_count; i++) {
    const eb_difference *since = NULL;
    for (int b = 0; gap != NULL && gap->count >= 2 && b < gap->count; b++)
      if (gap->bore[b] == i)
        since = &gap->differs[b];
    begin(out, p, "bore", p->layout.bore[i]);
    add_doubted(out, p->first.there && p->first.bore[i].counts, &p->first.bore[i].from);
    add_doubted(out, p->last.there && p->last.bore[i].counts, &p->last.bore[i].from);
    end(out, since, true);
  }
}

static void add_adjusters(sheet *out, const past *p, const series_gap *gap)
{
  for (int k = 0; p->has_layout && k < p->layout.adjuster_count; k++) {
    const eb_difference *since = NULL;
    for (int i = 0; gap != NULL && i < gap->adjusters; i++)
      if (gap->there[i] == k)
        since = &gap->contrast[i];
    if (!p->first.contrast[k].known && !p->last.contrast[k].known)
      continue;
    begin(out, p, "adjuster", p->layout.adjuster[k].id);
    add_doubted(out, p->first.contrast[k].known, &p->first.contrast[k].from);
    add_doubted(out, p->last.contrast[k].known, &p->last.contrast[k].from);
    end(out, since, true);
  }
}

void history_csv(const eb_history *h, bool semicolon, eb_text *text)
{
  static const char *const heads[] = {"session",
                                      "begun",
                                      "state",
                                      "kind",
                                      "name",
                                      "before_percent",
                                      "before_doubt_percent",
                                      "after_percent",
                                      "after_doubt_percent",
                                      "since_percent",
                                      "since_doubt_percent",
                                      "p",
                                      "word"};
  sheet out = {.text = text, .semicolon = semicolon};
  for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++)
    sheet_field(&out, heads[i]);
  sheet_end(&out);
  for (size_t i = 0; i < h->count; i++) {
    const past *p = series_at(h, i);
    series_gap gap;
    const series_gap *before = series_gap_before(h, i, &gap) ? &gap : NULL;
    begin(&out, p, "session", "");
    sheet_percent(&out, p->first.there, p->first.spread);
    sheet_field(&out, "");
    sheet_percent(&out, p->last.there, p->last.spread);
    sheet_field(&out, "");
    end(&out, before != NULL && before->count >= 2 ? &before->all : NULL, false);
    add_bores(&out, p, before);
    add_adjusters(&out, p, before);
  }
}
