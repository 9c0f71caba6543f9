/* Engines for tests: those of the study's layouts, and some on which nothing is off, nothing scatters and adjusters
 * answer as wished. */
#ifndef EVENBORE_TESTS_BENCH_ENGINE_H
#define EVENBORE_TESTS_BENCH_ENGINE_H

#include "evenbore/simulate.h"

#include <stdio.h>
#include <string.h>

static const char *const ENGINE_SINGLE =
    "{\"rows\":[[1]],\"adjusters\":[{\"id\":\"plate\",\"kind\":\"plate\",\"sides\":[[1]]}]}";

static const char *const ENGINE_BLEEDS = "{\"rows\":[[1,2,3]],\"adjusters\":["
                                         "{\"id\":\"b1\",\"kind\":\"bleed\",\"sides\":[[1]],\"stopped\":false},"
                                         "{\"id\":\"b2\",\"kind\":\"bleed\",\"sides\":[[2]],\"stopped\":false},"
                                         "{\"id\":\"b3\",\"kind\":\"bleed\",\"sides\":[[3]],\"stopped\":false}]}";

/* A layout's text, or the name of one of tests/study/layouts. */
static inline eb_layout layout_of(const char *text)
{
  char path[1024];
  char content[16384];
  size_t size = strlen(text);
  eb_json *json = NULL;
  eb_layout layout = {0};
  eb_error error = {0};
  if (text[0] != '{') {
    snprintf(path, sizeof path, "%s/study/layouts/%s.json", EB_TESTS_FOLDER, text);
    FILE *file = fopen(path, "rb");
    if (file == NULL)
      fail_msg("%s cannot be read", path);
    size = fread(content, 1, sizeof content, file);
    fclose(file);
    text = content;
  }
  if (eb_json_parse(text, size, &json, &error) != EB_OK || eb_layout_read(json, "layout", &layout, &error) != EB_OK)
    fail_msg("no layout: %s", error.message);
  eb_json_destroy(json);
  return layout;
}

static inline eb_engine *engine_of(const char *text, uint64_t seed, const eb_engine_options *options)
{
  eb_layout layout = layout_of(text);
  eb_engine *engine = NULL;
  eb_error error = {0};
  if (eb_engine_create(eb_host_system(), &layout, seed, options, &engine, &error) != EB_OK)
    fail_msg("no engine: %s", error.message);
  return engine;
}

static inline eb_engine_options plain_options(void)
{
  eb_engine_options o = eb_engine_options_usual();
  o.link_spread = o.coupler_spread = o.screw_spread = o.bleed_spread = o.plate_spread = 0;
  o.edge_spread = o.closed_spread_deg = o.warm_spread_k = 0;
  o.answer_spread = o.answer_again = o.share_spread = 0;
  o.touched_spread = o.neighbour_share = o.neighbour_spread = o.seat_spread = 0;
  o.lash = o.stick_chance = o.closing_spread = 0;
  o.needle_spread = o.wander = 0;
  o.gauge.repeatability = 0;
  o.gauge.step = 1e-6;
  return o;
}

static inline eb_engine_truth engine_look(const eb_engine *engine)
{
  eb_engine_truth truth;
  eb_engine_look(engine, &truth);
  return truth;
}

static inline void engine_start(eb_engine *engine)
{
  assert_int_equal(eb_engine_start(engine, NULL), EB_OK);
}

static inline void engine_move(eb_engine *engine, int adjuster, double wished)
{
  assert_int_equal(eb_engine_move(engine, adjuster, wished, NULL), EB_OK);
}

static inline double sum_of(const double *values, int count)
{
  double sum = 0;
  for (int i = 0; i < count; i++)
    sum += values[i];
  return sum;
}

#endif
