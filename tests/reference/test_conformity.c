/* Conformance probability, guard bands and risks against JCGM 106:2012 and open tables of the same kind. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <gsl/gsl_cdf.h>

#include "balance/engines.h"
#include "evenbore/verdict.h"

/* JCGM 106:2012, clause 7.3.2 (burst pressure, kPa) and 7.3.3 (breakdown voltage, V); inputs and published roundings
 * from memory.  Rows t1 to t4 have no published counterpart: normal and Student's t to 12 digits by multiple-precision
 * arithmetic. */
static void conformance_probability(void **state)
{
  (void)state;
  static const struct {
    const char *id;
    double low, high, estimate, doubt, degrees, published, probability, tolerance;
  } rows[] = {
      {"burst", 490, INFINITY, 509.7, 8.6, INFINITY, 0.99, 0.989009547385, 1e-10},
      {"zener", -INFINITY, -5.40, -5.47, 0.05, INFINITY, 0.92, 0.919243340766, 1e-10},
      {"t1", -0.05, 0.05, 0.03, 0.02, 4, 0.80, 0.8049844719, 1e-9},
      {"t2", -0.05, 0.05, 0.03, 0.02, INFINITY, 0.84, 0.841313074827, 1e-10},
      {"t3", -0.05, 0.05, -0.06, 0.015, 10, 0.26, 0.260022199061, 1e-9},
      {"t4", -0.05, 0.05, 0, 0.02, 6, 0.95, 0.953471767716, 1e-9},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    double found = eb_conformity(rows[i].low, rows[i].high, rows[i].estimate, rows[i].doubt, rows[i].degrees);
    assert_near(found, rows[i].probability, rows[i].tolerance);
    assert_near(found, rows[i].published, 0.005);
  }
}

/* At the acceptance limit of a one-sided guard band g = k u the probability of conformity is just p: JCGM 106:2012
 * 7.3, table 1 (k = 0.84, 1.28, 1.64, 2.33, 3.09; from memory), and JCGM 100:2008 G.3 for few degrees of freedom
 * (p 0.99, nu 4: 3.75, read in a public table of t). */
static void guard_bands(void **state)
{
  (void)state;
  static const struct {
    double p, degrees, published, k;
  } rows[] = {
      {0.80, INFINITY, 0.84, 0.8416212336}, {0.90, INFINITY, 1.28, 1.2815515655},  {0.95, INFINITY, 1.64, 1.6448536270},
      {0.99, INFINITY, 2.33, 2.3263478740}, {0.999, INFINITY, 3.09, 3.0902323062}, {0.95, 3, 2.35, 2.3533634348},
      {0.95, 4, 2.13, 2.1318467863},        {0.95, 6, 1.94, 1.9431802805},         {0.99, 4, 3.75, 3.7469473880},
      {0.95, 10, 1.81, 1.8124611228},       {0.95, 30, 1.70, 1.6972608866},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    double u = 0.7, limit = 20, guarded = limit - rows[i].k * u;
    assert_near(eb_conformity(-INFINITY, limit, guarded, u, rows[i].degrees), rows[i].p, 1e-9);
    assert_near(eb_conformity(-limit, INFINITY, -guarded, u, rows[i].degrees), rows[i].p, 1e-9);
    assert_near(rows[i].k, rows[i].published, 0.006);
  }
  /* JCGM 106:2012 8.3.2: a guard band of 2 u leaves at most 2.3 % risk at a one-sided limit. */
  assert_near(1 - eb_conformity(-INFINITY, 1, 1 - 2 * 0.1, 0.1, INFINITY), 0.0227501319, 1e-9);
}

/* The claim is acceptance by guard band turned round: its tolerance is the limit at which a bore that is alone in
 * doubt takes the whole risk, and n that are alike a part each.  Far from the other end that limit lies k u above the
 * deviation, with the one-sided k of the table above. */
static void a_claim_is_a_guard_band(void **state)
{
  (void)state;
  static const struct {
    double p, degrees, k;
  } rows[] = {{0.99, INFINITY, 2.3263478740}, {0.95, INFINITY, 1.6448536270}, {0.99, 4, 3.7469473880}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    double deviation = 0.2, doubt = 0.004;
    double claim = eb_claim(&deviation, &doubt, 1, rows[i].degrees, 1 - rows[i].p);
    assert_near(log1p(claim), deviation + rows[i].k * doubt, 2e-7);
    double four[4] = {0.2, 0.2, 0.2, 0.2}, doubts[4] = {doubt, doubt, doubt, doubt};
    assert_near(eb_claim(four, doubts, 4, rows[i].degrees, 4 * (1 - rows[i].p)), claim, 1e-9);
    double one[4] = {0.2, 0, 0.1, -0.1};
    if (isinf(rows[i].degrees))
      assert_near(eb_claim(one, doubts, 4, rows[i].degrees, 1 - rows[i].p), claim, 1e-9);
  }
}

/* Bores of all kinds: at the claim the chances to be outside, by the GNU Scientific Library, add up to the risk. */
static void a_claim_spends_the_risk(void **state)
{
  (void)state;
  static const double deviation[5] = {0.03, -0.025, 0.01, 0, -0.032}, doubt[5] = {0.006, 0.011, 0.015, 0.004, 0.008};
  static const double risks[] = {0.05, 0.01, 0.2};
  for (size_t r = 0; r < sizeof risks / sizeof risks[0]; r++)
    for (int degrees = 0; degrees <= 9; degrees += 3) {
      double claim = eb_claim(deviation, doubt, 5, degrees == 0 ? INFINITY : degrees, risks[r]), sum = 0;
      for (int i = 0; i < 5; i++) {
        double above = (log1p(claim) - deviation[i]) / doubt[i], below = (log1p(-claim) - deviation[i]) / doubt[i];
        sum += degrees == 0 ? gsl_cdf_ugaussian_Q(above) + gsl_cdf_ugaussian_P(below)
                            : gsl_cdf_tdist_Q(above, degrees) + gsl_cdf_tdist_P(below, degrees);
      }
      assert_near(sum, risks[r], 1e-8);
    }
}

static double density(double x, double mean, double sd)
{
  double z = (x - mean) / sd;
  return exp(-0.5 * z * z) / (sd * sqrt(6.283185307179586));
}

/* By Simpson's rule: the chance that a part lies in [low, high] and that its measured value, which varies about it by
 * um, is accepted. */
static double accepted_from(double low, double high, double mean, double sd, double al, double au, double um)
{
  enum { STEPS = 4000 };
  double sum = 0, step = (high - low) / STEPS;
  for (int i = 0; i <= STEPS; i++) {
    double x = low + i * step;
    double weight = i == 0 || i == STEPS ? 1 : i % 2 == 1 ? 4 : 2;
    sum += weight * density(x, mean, sd) * eb_conformity(al, au, x, um, INFINITY);
  }
  return sum * step / 3;
}

/* Global consumer's and producer's risk.  JCGM 106:2012 9.5, resistor (published: conforming 90 %, RC 1 %, RP 7 %, from
 * memory); NCSLI RP-19 table for test ratio 4 and Deaver 1994, both as printed in the open test suite of a national
 * laboratory. */
static void consumers_and_producers_risk(void **state)
{
  (void)state;
  static const struct {
    const char *id;
    double mean, sd, tl, tu, al, au, um, conform, consumer, producer;
  } rows[] = {
      {"resistor", 1500, 0.12, 1499.8, 1500.2, 1499.82, 1500.18, 0.04, 0.9044192955, 0.009878291522, 0.06902651046},
      {"resistor, simple", 1500, 0.12, 1499.8, 1500.2, 1499.8, 1500.2, 0.04, 0.9044192955, 0.01894220672,
       0.03720780018},
      {"resistor, 2u", 1500, 0.12, 1499.8, 1500.2, 1499.88, 1500.12, 0.04, 0.9044192955, 0.0004686335989, 0.2476696402},
      {"itp 0.6", 0, 1.18818294989389, -1, 1, -1, 1, 0.297045737473473, 0.6, 0.04838603208, 0.06260452759},
      {"itp 0.8", 0, 0.780304146072379, -1, 1, -1, 1, 0.195076036518095, 0.8, 0.02855830621, 0.04232016347},
      {"itp 0.9", 0, 0.607956831911769, -1, 1, -1, 1, 0.151989207977942, 0.9, 0.0159995353, 0.02654585109},
      {"itp 0.95", 0, 0.510213456924654, -1, 1, -1, 1, 0.127553364231163, 0.95, 0.008710101881, 0.01595393569},
      {"deaver", 0, 1, -2, 2, -2, 2, 0.25, 0.9544997361, 0.008006084834, 0.01485088421},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    double far = 12 * rows[i].sd, m = rows[i].mean, sd = rows[i].sd;
    double conform = eb_conformity(rows[i].tl, rows[i].tu, m, sd, INFINITY);
    double good = accepted_from(rows[i].tl, rows[i].tu, m, sd, rows[i].al, rows[i].au, rows[i].um);
    double bad = accepted_from(m - far, rows[i].tl, m, sd, rows[i].al, rows[i].au, rows[i].um) +
                 accepted_from(rows[i].tu, m + far, m, sd, rows[i].al, rows[i].au, rows[i].um);
    assert_near(conform, rows[i].conform, 1e-9);
    assert_near(bad, rows[i].consumer, 1e-8);
    assert_near(conform - good, rows[i].producer, 1e-8);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(conformance_probability),      cmocka_unit_test(guard_bands),
      cmocka_unit_test(a_claim_is_a_guard_band),      cmocka_unit_test(a_claim_spends_the_risk),
      cmocka_unit_test(consumers_and_producers_risk),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
