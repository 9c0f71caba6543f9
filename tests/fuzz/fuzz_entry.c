/* A number as it is typed at a prompt: the first byte chooses what is asked for. */
#include "fuzz.h"

#include "evenbore/quantity.h"

#include <math.h>

static const char *const unit_of[EB_QUANTITIES] = {
    [EB_TEMPERATURE] = "C", [EB_PRESSURE] = "kPa", [EB_ENGINE_SPEED] = "rpm", [EB_LENGTH] = "mm", [EB_ANGLE] = "deg",
    [EB_TIME] = "min",      [EB_RATIO] = "%",      [EB_VOLTAGE] = "V",        [EB_COUNT] = "",    [EB_FLOW] = "kg/h"};

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  if (size == 0)
    return 0;
  eb_quantity quantity = (eb_quantity)(data[0] % EB_QUANTITIES);
  char *text = malloc(size); /* no NUL behind it: a reader that goes too far is seen */
  memcpy(text, data + 1, size - 1);
  eb_entry entry = {.value = 0};
  eb_error error = {.status = EB_OK};
  eb_status status = eb_entry_read(text, size - 1, quantity, unit_of[quantity], &entry, &error);
  free(text);
  if (status != EB_OK) {
    must_be_clear(&error, status);
    return 0;
  }
  must(isfinite(entry.value) && isfinite(entry.given));
  must(memchr(entry.unit, '\0', sizeof entry.unit) != NULL);
  /* What was read says the same again, whatever was around it. */
  char again[80];
  eb_entry second;
  snprintf(again, sizeof again, "%.10f%s%s", entry.given, entry.unit[0] == '\0' ? "" : " ", entry.unit);
  if (fabs(entry.given) < 1e4 && fabs(entry.given) >= 1 &&
      eb_entry_read(again, strlen(again), quantity, unit_of[quantity], &second, &error) == EB_OK)
    must(fabs(second.value - entry.value) <= 1e-6 * (1 + fabs(entry.value)));
  return 0;
}
