/* A procedure rehearsed for its mistakes: every value of its options, sound engines and faulty ones, and answers other
 * than the usual. */
#include "check.h"

#include "call_sites.h"
#include "rehearsal.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { WAYS_MAX = 48, ENGINES_LEAST = 8, KEYS_MAX = 64, OPTIONS_MAX = 24, VALUES_MAX = 24 };

/* Stands between session and procedure and sees what the procedure sends. */
typedef struct listener {
  eb_check *check;
  eb_runner inner;
  const eb_host *host;
} listener;

typedef struct listening {
  listener *by;
  eb_procedure inner;
  double prompts;
} listening;

/* What differs from one play to the next, and what a play has seen. */
typedef struct playing {
  eb_check *check;
  int contrary; /* 0: the tuner's own answers; else the author's questions are answered otherwise the first time */
  char key[KEYS_MAX][64];
  int keys;
} playing;

static void raise(double *most, double value)
{
  *most = value > *most ? value : *most;
}

/* The author's file that a place lies in, and its line there; NULL: it is none of them. */
static const eb_source *own_file(const eb_check *c, const char *at, unsigned long *line)
{
  for (size_t i = c->loaded.builtin_count; i <= c->loaded.library_count; i++) {
    const eb_source *source = i == c->loaded.library_count ? &c->loaded.source : &c->loaded.library[i];
    size_t size = strlen(source->name);
    if (strncmp(at, source->name, size) == 0 && at[size] == ':') {
      *line = strtoul(at + size + 1, NULL, 10);
      return source;
    }
  }
  return NULL;
}

/* Whether the ask is one that a line of the author's files makes by itself, and no routine. */
static bool is_the_authors(const eb_check *c, const eb_json *ask)
{
  size_t from = 0;
  unsigned line = 1;
  unsigned long asked = 0;
  const char *call = NULL;
  const eb_source *source = own_file(c, eb_json_get_string(ask, "at", ""), &asked);
  if (source == NULL)
    return false;
  while (eb_call_site_next(source->text, source->size, &from, &line, &call))
    if (line == asked && strcmp(call, "pass") != 0 && strcmp(call, "read") != 0)
      return true;
  return false;
}

static void listen(listening *l, const eb_json *request)
{
  eb_check *c = l->by->check;
  char *text = eb_json_text(request);
  const char *op = eb_json_get_string(request, "op", "");
  const eb_json *used = eb_json_get(request, "used"), *layout = eb_json_get(request, "layout");
  raise(&c->use.instructions, eb_json_get_number(used, "instructions", 0));
  raise(&c->use.memory, eb_json_get_number(used, "memory", 0));
  raise(&c->use.request, text == NULL ? 0 : (double)strlen(text));
  eb_json_text_free(text);
  if (layout != NULL && (strcmp(op, "layout") == 0 || strcmp(op, "declare") == 0)) {
    eb_check_layout(c, layout);
    if (c->layout == NULL)
      c->layout = eb_json_copy(layout);
  }
  if (strcmp(op, "ask") == 0) {
    c->runs = c->runs || strcmp(eb_json_get_string(request, "state", ""), "running") == 0;
    eb_check_prompt(c, request, is_the_authors(c, request));
    raise(&c->use.prompts, ++l->prompts);
  }
  if (c->see != NULL)
    c->see(c->context, request);
}

static eb_status pass_on(void *self, const eb_json *reply, eb_json **request, eb_error *error)
{
  listening *l = self;
  eb_status status = l->inner.exchange(l->inner.self, reply, request, error);
  if (status == EB_OK)
    listen(l, *request);
  return status;
}

static void stop_listening(void *self)
{
  listening *l = self;
  const eb_host *host = l->by->host;
  l->inner.destroy(l->inner.self);
  host->allocate(host->context, l, 0);
}

static eb_status start_listening(void *context, const eb_host *host, const eb_source *main, const eb_source *library,
                                 size_t library_count, eb_procedure *procedure, eb_error *error)
{
  listener *by = context;
  listening *l = by->host->allocate(by->host->context, NULL, sizeof *l);
  if (l == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, main->name, "out of memory");
  *l = (listening){.by = by};
  eb_status status = by->inner.start(by->inner.context, host, main, library, library_count, &l->inner, error);
  if (status != EB_OK) {
    by->host->allocate(by->host->context, l, 0);
    return status;
  }
  *procedure = (eb_procedure){.self = l, .exchange = pass_on, .destroy = stop_listening};
  return EB_OK;
}

static bool is_new(playing *p, const char *key)
{
  for (int i = 0; i < p->keys; i++)
    if (strcmp(p->key[i], key) == 0)
      return false;
  if (p->keys == KEYS_MAX)
    return false;
  snprintf(p->key[p->keys++], sizeof p->key[0], "%s", key);
  return true;
}

static void answer_otherwise(void *context, const eb_json *ask, char *line, size_t size)
{
  playing *p = context;
  const char *kind = eb_json_get_string(ask, "kind", "");
  const eb_json *options = eb_json_get(ask, "options");
  bool on_metal =
      eb_json_get(ask, "takes_off") != NULL || eb_json_get(ask, "refits") != NULL || eb_json_get(ask, "snaps") != NULL;
  if (p->contrary == 0 || on_metal || !is_the_authors(p->check, ask) || !is_new(p, eb_json_get_string(ask, "key", "")))
    return;
  int n = eb_json_get_int(ask, "n", 0);
  if (strcmp(kind, "confirm") == 0)
    snprintf(line, size, "{\"n\":%d,\"value\":false}", n);
  else if (strcmp(kind, "choose") == 0 && eb_json_count(options) > 0)
    snprintf(line, size, "{\"n\":%d,\"value\":\"%.80s\"}", n,
             eb_json_get_string(eb_json_at(options, (p->contrary - 1) % eb_json_count(options)), "id", ""));
  else if (strcmp(kind, "number") == 0)
    snprintf(line, size, "{\"n\":%d,\"value\":%.10g}", n,
             eb_json_get_number(ask, p->contrary % 2 == 0 ? "low" : "high", 0));
}

static void keep_shown(void *context, const eb_json *message, const char *answer)
{
  const playing *p = context;
  const eb_json *layout = eb_json_get(message, "layout");
  (void)answer;
  if (p->check->shown == NULL && eb_json_is_object(layout))
    p->check->shown = eb_json_copy(layout);
}

/* How many values an option is tried with, and one of them. */
static int values_of(const eb_json *option)
{
  if (strcmp(eb_json_get_string(option, "kind", ""), "choose") == 0)
    return eb_json_count(eb_json_get(option, "options"));
  double low = eb_json_get_number(option, "low", 0), high = eb_json_get_number(option, "high", 0);
  double step = eb_json_get_number(option, "step", 1);
  if (strcmp(eb_json_get_string(option, "quantity", ""), "count") != 0 || !(step > 0))
    return 2;
  double count = floor((high - low) / step + 1e-9) + 1;
  return count < 1 ? 1 : count > VALUES_MAX ? VALUES_MAX : (int)count;
}

static eb_json *value_of(const eb_json *option, int index)
{
  if (strcmp(eb_json_get_string(option, "kind", ""), "choose") == 0)
    return eb_json_from_string(eb_json_get_string(eb_json_at(eb_json_get(option, "options"), index), "id", ""));
  if (strcmp(eb_json_get_string(option, "quantity", ""), "count") != 0)
    return eb_json_from_number(eb_json_get_number(option, index == 0 ? "low" : "high", 0));
  return eb_json_from_number(eb_json_get_number(option, "low", 0) + index * eb_json_get_number(option, "step", 1));
}

/* What an engine file would say for one way to answer all options. */
static eb_json *inputs_of(const eb_json *options, long way)
{
  eb_json *layout = eb_json_object(), *file = eb_json_object(), *inputs = eb_json_object();
  bool made = layout != NULL && file != NULL && inputs != NULL;
  for (const eb_json *option = eb_json_first(options); made && option != NULL; option = eb_json_next(option)) {
    int count = values_of(option);
    made = eb_json_set(layout, eb_json_get_string(option, "id", "?"), value_of(option, (int)(way % count)));
    way /= count;
  }
  made = eb_json_set(file, "layout", layout) && made;
  made = eb_json_set(inputs, "engine_file", file) && made;
  if (made)
    return inputs;
  eb_json_destroy(inputs);
  return NULL;
}

static const char *way_words(const eb_json *options, long way, char *text, size_t size)
{
  size_t used = 0;
  text[0] = '\0';
  for (const eb_json *option = eb_json_first(options); option != NULL && used < size; option = eb_json_next(option)) {
    int count = values_of(option);
    eb_json *value = value_of(option, (int)(way % count));
    char *shown = value == NULL ? NULL : eb_json_text(value);
    used += (size_t)snprintf(text + used, size - used, "%s%s = %s", used == 0 ? " (with " : ", ",
                             eb_json_get_string(option, "id", "?"), shown == NULL ? "?" : shown);
    eb_json_text_free(shown);
    eb_json_destroy(value);
    way /= count;
  }
  if (used > 0 && used + 1 < size)
    snprintf(text + used, size - used, ")");
  return text;
}

/* `usual`: a sound engine and usual answers, where it should come to a claim. */
static void note_result(eb_check *c, const eb_rehearsed *r, bool usual, const char *way)
{
  const char *place = r->place[0] != '\0' ? r->place : eb_json_get_string(c->declare, "at", c->loaded.source.name);
  if (r->end == EB_REHEARSAL_FAILED || r->end == EB_REHEARSAL_STUCK) {
    const char *why = r->why;
    char own[160];
    size_t size = strlen(c->loaded.source.name), digits = 0;
    /* What fails before the first prompt carries its place in front of the words. */
    if (r->place[0] == '\0' && strncmp(why, c->loaded.source.name, size) == 0 && why[size] == ':' &&
        (digits = strspn(why + size + 1, "0123456789")) > 0 && strncmp(why + size + 1 + digits, ": ", 2) == 0) {
      snprintf(own, sizeof own, "%.*s", (int)(size + 1 + digits), why);
      eb_check_add(c, true, own, "%s%s", why + size + digits + 3, way);
    } else
      eb_check_add(c, true, place, "%s%s", why, way);
  } else if (!usual || !c->runs)
    return;
  else if (!r->measured)
    eb_check_add(c, false, place,
                 "it comes to its end without one reading; call job:balance, or job:pass and job:verdict");
  else if (!r->claims)
    eb_check_add(c, false, place,
                 "it comes to its end without a claim; after the last move call job:pass and job:verdict");
}

static eb_status play_one(eb_check *c, eb_rehearsal *r, playing *p, int number, eb_rehearsed *result, eb_error *error)
{
  p->keys = 0;
  p->contrary = number % 2 == 0 ? 0 : (number + 1) / 2;
  r->one_fault = number % 4 >= 2;
  for (int f = 0; f < EB_FAULTS; f++)
    r->fault[f] = r->one_fault ? 1 : 0;
  c->engines++;
  return eb_rehearsal_play(r, (uint64_t)number + 1, result, error);
}

static eb_status play_ways(eb_check *c, eb_rehearsal *r, playing *p, eb_error *error)
{
  const eb_json *options = eb_json_get(c->declare, "options");
  long all = 1;
  int number = 0;
  for (const eb_json *option = eb_json_first(options); option != NULL && all < 1000000; option = eb_json_next(option))
    all *= values_of(option) < 1 ? 1 : values_of(option);
  c->ways = all > WAYS_MAX ? WAYS_MAX : (int)all;
  int each = (ENGINES_LEAST + c->ways - 1) / c->ways;
  eb_status status = EB_OK;
  for (int w = 0; status == EB_OK && w < c->ways; w++) {
    char words[300];
    long way = (long)((double)w * (double)all / c->ways);
    eb_json *inputs = eb_json_count(options) == 0 ? NULL : inputs_of(options, way);
    r->inputs = inputs;
    for (int e = 0; status == EB_OK && e < each; e++, number++) {
      eb_rehearsed result = {.end = EB_REHEARSAL_FAILED};
      status = play_one(c, r, p, number, &result, error);
      if (status == EB_OK)
        note_result(c, &result, number % 4 == 0, way_words(options, way, words, sizeof words));
    }
    eb_json_destroy(inputs);
  }
  return status;
}

/* A prompt that no play came to. */
static void find_unasked(eb_check *c, const eb_rehearsal *r)
{
  const eb_source *source = &c->loaded.source;
  size_t at = 0;
  unsigned line = 1;
  const char *call = NULL;
  while (eb_call_site_next(source->text, source->size, &at, &line, &call)) {
    char place[200];
    if (line < r->lines && atomic_load(&r->asked[line]) != 0)
      continue;
    snprintf(place, sizeof place, "%.150s:%u", source->name, line);
    eb_check_add(c, false, place, "job:%s here was never asked on %d engines; is what leads to it ever true?", call,
                 c->engines);
  }
}

static bool has_errors(const eb_check *c)
{
  for (int i = 0; i < c->count; i++)
    if (c->finding[i].error)
      return true;
  return false;
}

eb_status eb_check_play(eb_check *c, eb_error *error)
{
  const eb_host *host = c->run->host;
  listener by = {.check = c, .inner = c->run->runner, .host = host};
  eb_runner runner = {.context = &by, .name = c->run->runner.name, .start = start_listening};
  playing *p = host->allocate(host->context, NULL, sizeof *p);
  eb_rehearsal r = {.host = host, .runner = &runner, .loaded = &c->loaded, .look_on = keep_shown, .context = p};
  r.answer = answer_otherwise;
  r.lines = eb_line_count(c->loaded.source.text, c->loaded.source.size) + 1;
  r.asked = host->allocate(host->context, NULL, r.lines * sizeof *r.asked);
  eb_status status = EB_OUT_OF_MEMORY;
  if (p == NULL || r.asked == NULL)
    eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  else {
    *p = (playing){.check = c};
    for (size_t i = 0; i < r.lines; i++)
      atomic_init(&r.asked[i], 0);
    status = play_ways(c, &r, p, error);
    if (status == EB_OK && !has_errors(c))
      find_unasked(c, &r);
  }
  host->allocate(host->context, r.asked, 0);
  host->allocate(host->context, p, 0);
  return status;
}
