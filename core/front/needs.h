/* Needs: what a procedure asks of a shop, gathered from its requests while it is played. */
#ifndef EVENBORE_NEEDS_H
#define EVENBORE_NEEDS_H

#include "evenbore/bundle.h"
#include "evenbore/json.h"

typedef struct eb_needs {
  unsigned instruments; /* set of them, in needs.c's order */
  eb_layout layouts[EB_BUNDLE_LAYOUTS_MAX];
  int layout_count;
  int layouts_left; /* that had no room */
  char hazards[EB_BUNDLE_TEXTS_MAX][EB_BUNDLE_TEXT_MAX + 1];
  int hazard_count;
  bool too_much; /* a hazard had no room, or was too long */
} eb_needs;

/* Takes in one request of the procedure (procedure.h); `context` is an eb_needs. */
void eb_needs_see(void *context, const eb_json *request);

/* The words for the instruments, static; returns how many. */
int eb_needs_instruments(const eb_needs *needs, const char *words[EB_BUNDLE_TEXTS_MAX]);

#endif
