/* A small bundle of an invented maker, and its key. */
#ifndef EB_TESTS_SHARE_SAMPLE_H
#define EB_TESTS_SHARE_SAMPLE_H

#include "evenbore/bundle.h"

#include <string.h>

static const char sample_text[] = "-- Twin, one screw between the two\n"
                                  "local ours = require \"ours\"\n"
                                  "return procedure { id = \"twin\" } -- \xC3\xA4\xF0\x9F\x94\xA7\n";
static const char sample_library[] = "return { screw = function(job) job:tell \"Slacken the nut first.\" end }\n";

static inline eb_secret_key sample_key(unsigned char first)
{
  unsigned char seed[EB_KEY_BYTES] = {first, 1, 2, 3};
  eb_secret_key key;
  eb_secret_key_from_seed(seed, &key);
  return key;
}

static inline eb_layout sample_layout(void)
{
  static const char text[] = "{\"rows\":[[\"1\",\"2\"]],\"adjusters\":[{\"id\":\"screw\",\"kind\":\"screw\","
                             "\"sides\":[[\"1\"],[\"2\"]]}]}";
  eb_json *json = NULL;
  eb_layout layout = {.bore_count = 0};
  if (eb_json_parse(text, sizeof text - 1, &json, NULL) == EB_OK)
    eb_layout_read(json, "", &layout, NULL);
  eb_json_destroy(json);
  return layout;
}

static inline eb_manifest sample_manifest(const eb_layout *layout)
{
  return (eb_manifest){.id = "twin",
                       .version = "1.0.0",
                       .title = "Twin, one screw",
                       .api = 1,
                       .revision = 3,
                       .maker = "Bench Nine",
                       .licence = "CC0-1.0",
                       .instruments = {"airflow gauge", "thermometer"},
                       .instrument_count = 2,
                       .hazards = {"The fan runs on for two minutes after the engine has stopped: keep hands away."},
                       .hazard_count = 1,
                       .layouts = layout,
                       .layout_count = 1,
                       .rehearsed = true,
                       .figures = {.program = "evenbore 0.1.0",
                                   .engines = 200,
                                   .seed = 1,
                                   .faults = "none",
                                   .tolerance = 0.05,
                                   .risk = 0.05,
                                   .even = 196,
                                   .claimed = 4,
                                   .claims = 200,
                                   .wrong = 5,
                                   .stops = 1,
                                   .readings = 14,
                                   .minutes = 22}};
}

static inline eb_status sample_bundle(const eb_host *host, const eb_manifest *manifest, const eb_secret_key *key,
                                      eb_text *text, eb_error *error)
{
  const eb_source sources[] = {{.name = "any.lua", .text = sample_text, .size = sizeof sample_text - 1},
                               {.name = "./lib/ours.lua", .text = sample_library, .size = sizeof sample_library - 1}};
  return eb_bundle_make(host, manifest, sources, 2, key, text, error);
}

#endif
