/* An exchange with a procedure by texts: what tests write down and compare. */
#ifndef TEXT_EXCHANGE_H
#define TEXT_EXCHANGE_H

#include "evenbore/procedure.h"

#include <stdlib.h>
#include <string.h>

typedef struct request_text {
  char text[EB_PROCEDURE_REQUEST_MAX + 1 + EB_JSON_SLACK];
} request_text;

/* `reply` NULL: none yet; what is no JSON fails with EB_BAD_VALUE.  After a failure `request` is as it was. */
static inline eb_status text_exchange(const eb_procedure *procedure, const char *reply, request_text *request,
                                      eb_error *error)
{
  eb_json *given = NULL, *made = NULL;
  eb_status status = reply == NULL ? EB_OK : eb_json_parse(reply, strlen(reply), &given, error);
  if (status == EB_OK)
    status = procedure->exchange(procedure->self, given, &made, error);
  eb_json_destroy(given);
  if (status != EB_OK)
    return status;
  if (!eb_json_text_into(made, request->text, sizeof request->text) || strlen(request->text) > EB_PROCEDURE_REQUEST_MAX)
    abort(); /* no runner may let such a one through */
  eb_json_destroy(made);
  return EB_OK;
}

#endif
