#include "evenbore/text.h"
#include "evenbore/throttle.h"

#include <math.h>
#include <string.h>

#define UNIFIED(threads_per_inch) (25.4 / (threads_per_inch))

/* The coarse pitch of each metric diameter first: it is what the diameter alone means. */
static const eb_thread threads[] = {
    {"M3x0.5", "ISO 261", 0.5},
    {"M3x0.35", "ISO 261", 0.35},
    {"M4x0.7", "ISO 261", 0.7},
    {"M4x0.5", "ISO 261", 0.5},
    {"M5x0.8", "ISO 261", 0.8},
    {"M5x0.5", "ISO 261", 0.5},
    {"M6x1", "ISO 261", 1},
    {"M6x0.75", "ISO 261", 0.75},
    {"M8x1.25", "ISO 261", 1.25},
    {"M8x1", "ISO 261", 1},
    {"8-32", "ASME B1.1", UNIFIED(32)},
    {"8-36", "ASME B1.1", UNIFIED(36)},
    {"10-24", "ASME B1.1", UNIFIED(24)},
    {"10-32", "ASME B1.1", UNIFIED(32)},
    {"1/4-20", "ASME B1.1", UNIFIED(20)},
    {"1/4-28", "ASME B1.1", UNIFIED(28)},
};
enum { THREADS = sizeof threads / sizeof threads[0], NAME_SIZE = 16, SHOWN_SIZE = 25 };

const eb_thread *eb_threads(size_t *count)
{
  *count = THREADS;
  return threads;
}

/* A typed name in the table's spelling, as far as one can tell; longer ones are cut, which no name of the table is. */
static void tidy_name(const char *typed, char name[NAME_SIZE])
{
  size_t size = 0;
  for (const char *at = typed; *at != '\0' && size + 1 < NAME_SIZE; at++) {
    if (strncmp(at, "\xC3\x97", 2) == 0) { /* the multiplication sign */
      name[size++] = 'x';
      at++;
    } else if (strchr(" \t#", *at) == NULL) {
      name[size++] = *at == 'm' ? 'M' : *at == 'X' ? 'x' : *at == ',' ? '.' : *at;
    }
  }
  name[size] = '\0';
  if (size > 2 && name[0] == 'M' && strcmp(name + size - 2, ".0") == 0)
    name[size - 2] = '\0';
}

/* What was typed, for a message: thread names are plain ASCII, so nothing else needs to be shown as it is. */
static const char *show_name(const char *typed, char shown[SHOWN_SIZE])
{
  size_t size = 0;
  for (; typed[size] != '\0' && size + 1 < SHOWN_SIZE; size++)
    shown[size] = typed[size] >= ' ' && typed[size] <= '~' ? typed[size] : '?';
  shown[size] = '\0';
  return shown;
}

static bool thread_has_name(const eb_thread *thread, const char *name)
{
  size_t size = strlen(name);
  if (strcmp(thread->name, name) == 0)
    return true;
  return name[0] == 'M' && strncmp(thread->name, name, size) == 0 && thread->name[size] == 'x';
}

eb_status eb_thread_find(const char *typed, const eb_thread **thread, eb_error *error)
{
  char name[NAME_SIZE];
  tidy_name(typed, name);
  const char *names[THREADS];
  for (size_t i = 0; i < THREADS; i++) {
    names[i] = threads[i].name;
    if (thread_has_name(&threads[i], name)) {
      *thread = &threads[i];
      return EB_OK;
    }
  }
  const char *nearest = eb_nearest(name, names, THREADS);
  char shown[SHOWN_SIZE];
  return eb_fail(error, EB_NOT_FOUND, "", "no thread \"%s\" is known; %s would be right, or the pitch in mm",
                 show_name(typed, shown), nearest != NULL ? nearest : "a name such as M5x0.8 or 10-32");
}

static eb_status check_screw(const eb_screw *screw, eb_error *error)
{
  if (!(screw->pitch_mm >= 0) || !isfinite(screw->pitch_mm))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "screw pitch %g mm; it must be above 0", screw->pitch_mm);
  if (!(screw->lever_mm >= 0) || !isfinite(screw->lever_mm))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "lever radius %g mm; it must be above 0", screw->lever_mm);
  if (!(screw->pitch_mm > 0))
    return eb_fail(error, EB_NOT_FOUND, "", "the screw's pitch is not known; its thread or its pitch would be right");
  if (!(screw->lever_mm > 0))
    return eb_fail(error, EB_NOT_FOUND, "",
                   "the lever's radius is not known; the distance from the shaft's axis to the screw would be right");
  return EB_OK;
}

eb_status eb_screw_angle(const eb_screw *screw, double turns, double *angle_deg, eb_error *error)
{
  eb_status status = check_screw(screw, error);
  if (status != EB_OK)
    return status;
  if (!isfinite(turns))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "%g turns; a finite number would be right", turns);
  *angle_deg = screw->pitch_mm * turns / screw->lever_mm * 180 / M_PI;
  return EB_OK;
}

eb_status eb_screw_turns(const eb_screw *screw, double angle_deg, double *turns, eb_error *error)
{
  eb_status status = check_screw(screw, error);
  if (status != EB_OK)
    return status;
  if (!isfinite(angle_deg))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "angle %g deg; a finite number would be right", angle_deg);
  *turns = angle_deg * M_PI / 180 * screw->lever_mm / screw->pitch_mm;
  return EB_OK;
}

eb_growth eb_growth_aluminium_and_steel(void)
{
  return (eb_growth){.manifold_per_k = 23e-6, .link_per_k = 12e-6};
}

eb_status eb_growth_angle(const eb_growth *growth, double *angle_deg, eb_error *error)
{
  if (!(growth->length_mm > 0) || !isfinite(growth->length_mm))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "length %g mm; it must be above 0", growth->length_mm);
  if (!(growth->arm_mm > 0) || !isfinite(growth->arm_mm))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "arm %g mm; it must be above 0", growth->arm_mm);
  if (!isfinite(growth->rise_k) || !isfinite(growth->manifold_per_k) || !isfinite(growth->link_per_k))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "rise and coefficients of expansion must be finite numbers");
  double longer_mm = (growth->manifold_per_k - growth->link_per_k) * growth->length_mm * growth->rise_k;
  *angle_deg = longer_mm / growth->arm_mm * 180 / M_PI;
  return EB_OK;
}
