/* Passes over made-up engines. */
#ifndef EVENBORE_TESTS_READINGS_H
#define EVENBORE_TESTS_READINGS_H

#include "engines.h"
#include "evenbore/evidence.h"

/* A fine gauge, so that made-up patterns are read as they are. */
static inline eb_gauge gauge_fine(void)
{
  eb_gauge gauge = eb_gauge_usual();
  gauge.step = 0.001;
  return gauge;
}

static inline eb_evidence *gather(const eb_layout *layout, const eb_gauge *gauge)
{
  eb_evidence *evidence = NULL;
  assert_int_equal(eb_evidence_create(eb_host_system(), layout, gauge, &evidence, NULL), EB_OK);
  return evidence;
}

/* One round of the bores and the first again; each reading is off by a seeded error of `noise`. */
static inline eb_closure pass(eb_evidence *evidence, const eb_layout *layout, const double *y, double noise,
                              uint64_t *seed)
{
  eb_closure closure;
  assert_int_equal(eb_evidence_pass(evidence, NULL), EB_OK);
  for (int i = 0; i <= layout->bore_count; i++) {
    int bore = i % layout->bore_count;
    double value = 9 * exp(y[bore] + noise * stream_normal(seed));
    assert_int_equal(eb_evidence_reading(evidence, bore, value, NULL), EB_OK);
  }
  eb_evidence_close(evidence, &closure);
  return closure;
}

#endif
