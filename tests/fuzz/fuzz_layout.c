/* A layout as a procedure declares it, and what is worked out from it. */
#include "fuzz.h"

#include "evenbore/evidence.h"
#include "evenbore/json.h"

#include <math.h>

static void judge(const eb_layout *layout)
{
  eb_gauge gauge = eb_gauge_usual();
  eb_evidence *evidence = NULL;
  eb_verdict verdict;
  eb_error error;
  eb_closure closure;
  must(eb_evidence_create(eb_host_system(), layout, &gauge, &evidence, &error) == EB_OK);
  must(eb_evidence_period(evidence, &error) == EB_OK);
  must(eb_evidence_pass(evidence, &error) == EB_OK);
  for (int i = 0; i <= layout->bore_count; i++)
    must(eb_evidence_reading(evidence, i % layout->bore_count, 6 + 0.25 * (i % layout->bore_count % 5), &error) ==
         EB_OK);
  eb_evidence_close(evidence, &closure);
  eb_status status = eb_evidence_verdict(evidence, 0.05, 0.05, &verdict, &error);
  must(status == EB_OK || status == EB_UNSOLVABLE);
  for (int i = 0; status == EB_OK && i < layout->bore_count; i++)
    must(isfinite(verdict.bore[i].deviation) && verdict.bore[i].doubt > 0);
  eb_evidence_destroy(evidence);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  eb_json *json = NULL;
  eb_error error = {.status = EB_OK};
  eb_status status = eb_json_parse((const char *)data, size, &json, &error);
  if (status != EB_OK) {
    must_be_clear(&error, status);
    return 0;
  }
  eb_layout layout;
  status = eb_layout_read(json, "fuzz.lua:1", &layout, &error);
  eb_json_destroy(json);
  if (status != EB_OK) {
    must_be_clear(&error, status);
    return 0;
  }
  must(layout.bore_count >= 1 && layout.bore_count <= EB_BORES_MAX);
  must(layout.adjuster_count >= 0 && layout.adjuster_count <= EB_ADJUSTERS_MAX);
  eb_json *shown = eb_layout_json(&layout);
  char *text = eb_json_text(shown);
  must(text != NULL && eb_json_parse(text, strlen(text), &json, &error) == EB_OK);
  must(eb_json_equal(json, shown));
  eb_json_destroy(json);
  eb_json_destroy(shown);
  eb_json_text_free(text);
  judge(&layout);
  return 0;
}
