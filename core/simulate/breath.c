#include "breath.h"

#include "evenbore/airflow.h"
#include "evenbore/crossing.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>

/* Petrol: lower heating value 44 MJ/kg and 14.6 kg of air to a kilogram, stoichiometric [Heywood, Internal
 * Combustion Engine Fundamentals, appendix D; from memory]. */
const double BREATH_HEAT_J_KG = 44e6 / 14.6;
/* Of an idling engine; usual figures without a source. */
static const double INDICATED_EFFICIENCY = 0.3;
static const double VOLUMETRIC_EFFICIENCY = 0.8;
static const double CHARGE_K = 330;
enum { SPEED_LEAST_RPM = 100, SPEED_MOST_RPM = 9000, HALVINGS = 48 };

/* Friction, mean effective pressure against crank speed [Barnes-Moss, from Heywood, eq. 13.6; from memory]. */
static double friction_pa(double speed_rpm)
{
  double n = speed_rpm / 1000;
  return 1e5 * (0.97 + 0.15 * n + 0.05 * n * n);
}

/* Air that the cylinder takes for each pascal behind the plate, kg/s: its density there times the volume swept in
 * each second intake by intake [Heywood, section 2.10]. */
static double taken_per_pa(const breath *b, double speed_rpm)
{
  eb_gas air = eb_gas_air();
  return VOLUMETRIC_EFFICIENCY * b->swept_m3 * speed_rpm / 120 / (air.constant_j_kg_k * CHARGE_K);
}

static double through_kg_s(const breath *b, double effective_mm2, double behind_pa)
{
  eb_gas air = eb_gas_air();
  eb_orifice hole = {.area_mm2 = effective_mm2,
                     .discharge = 1,
                     .upstream_pa = b->upstream_pa,
                     .upstream_k = b->upstream_k,
                     .downstream_pa = behind_pa};
  eb_mass_flow flow = {0};
  eb_status status = eb_gas_mass_flow(&air, &hole, &flow, NULL);
  assert(status == EB_OK);
  (void)status;
  return flow.kg_h / 3600;
}

breath breath_of(int bores, double upstream_pa, double upstream_k, double swept_m3, double accessories_w)
{
  eb_gas air = eb_gas_air();
  breath b = {.bores = bores,
              .upstream_pa = upstream_pa,
              .upstream_k = upstream_k,
              .swept_m3 = swept_m3,
              .accessories_w = accessories_w,
              .critical_pa = eb_gas_critical_ratio(&air) * upstream_pa};
  b.choked_kg_s_mm2 = through_kg_s(&b, 1, 0);
  for (int i = 0; i < bores; i++)
    b.takes[i] = b.burns[i] = 1;
  return b;
}

typedef struct drawing {
  const breath *breathing;
  double effective_mm2, taken; /* for each pascal behind the plate */
} drawing;

/* Falls as the pressure behind the plate rises. */
static double fills_kg_s(const void *given, double behind_pa)
{
  const drawing *d = given;
  return through_kg_s(d->breathing, d->effective_mm2, behind_pa) - d->taken * behind_pa;
}

/* What so many halvings find, looked at only where it is close. */
static double behind_pa(const drawing *d, double low, double high)
{
  enum { NEARLY = 44 };
  static const double SURE_PA = 1e-8; /* a look is off by a hundredth of that */
  double near = eb_crossing_find(fills_kg_s, d, low, high, NEARLY);
  for (int i = 0; i < HALVINGS; i++) {
    double middle = 0.5 * (low + high);
    if (fabs(middle - near) > SURE_PA ? middle < near : fills_kg_s(d, middle) > 0)
      low = middle;
    else
      high = middle;
  }
  return low;
}

/* Behind a choked plate the pressure is what the cylinder makes of the flow.
 * Else both follow from one another, and halving finds the pressure. */
static draught draw_with(const breath *b, double effective_mm2, double taken)
{
  double choked = b->choked_kg_s_mm2 * effective_mm2;
  if (choked <= taken * b->critical_pa)
    return (draught){choked, choked / taken};
  drawing d = {b, effective_mm2, taken};
  double behind = behind_pa(&d, b->critical_pa, b->upstream_pa);
  return (draught){taken * behind, behind};
}

draught breath_draw(const breath *b, int bore, double effective_mm2, double speed_rpm)
{
  return draw_with(b, effective_mm2, b->takes[bore] * taken_per_pa(b, speed_rpm));
}

typedef draught drawn_by(const breath *b, double effective_mm2, double taken);

static double surplus_by(drawn_by *draw, const breath *b, const double *effective_mm2, double speed_rpm)
{
  double surplus = -b->accessories_w;
  double volume_per_s = b->swept_m3 * speed_rpm / 120;
  double taken = taken_per_pa(b, speed_rpm), friction = friction_pa(speed_rpm);
  for (int i = 0; i < b->bores; i++) {
    draught drawn = draw(b, effective_mm2[i], b->takes[i] * taken);
    double pumping_pa = b->upstream_pa - drawn.behind_pa;
    surplus += b->burns[i] * INDICATED_EFFICIENCY * BREATH_HEAT_J_KG * drawn.kg_s;
    surplus -= (friction + pumping_pa) * volume_per_s;
  }
  return surplus;
}

double breath_surplus_w(const breath *b, const double *effective_mm2, double speed_rpm)
{
  return surplus_by(draw_with, b, effective_mm2, speed_rpm);
}

/* A plate that is not choked lets as much through as one that just is, at least. */
static draught draw_least(const breath *b, double effective_mm2, double taken)
{
  double choked = b->choked_kg_s_mm2 * effective_mm2, at_edge = taken * b->critical_pa;
  return choked <= at_edge ? (draught){choked, choked / taken} : (draught){at_edge, b->critical_pa};
}

double breath_lacks_w(const breath *b, const double *effective_mm2, double speed_rpm)
{
  double least = surplus_by(draw_least, b, effective_mm2, speed_rpm);
  return least > 0 ? -least : -breath_surplus_w(b, effective_mm2, speed_rpm);
}

typedef struct running {
  const breath *breathing;
  const double *effective_mm2;
} running;

static double surplus_at(const void *given, double speed_rpm)
{
  const running *r = given;
  return breath_surplus_w(r->breathing, r->effective_mm2, speed_rpm);
}

double breath_speed_rpm(const breath *b, const double *effective_mm2)
{
  running r = {b, effective_mm2};
  return eb_crossing_find(surplus_at, &r, SPEED_LEAST_RPM, SPEED_MOST_RPM, HALVINGS);
}
