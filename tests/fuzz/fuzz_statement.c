/* A card, a handover or a revocation as it may lie on a stick, and a maker's key file. */
#include "fuzz.h"

#include "evenbore/maker.h"

#include <string.h>

static void must_be_a_maker(const eb_maker *maker)
{
  eb_public_key key;
  must(eb_maker_name_check(maker->name, NULL) == EB_OK);
  must(eb_public_key_read(maker->key.text, &key, NULL) == EB_OK);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  eb_statement statement;
  eb_maker maker;
  bool sealed = false;
  eb_error error;
  const char *text = (const char *)data;
  eb_status status = eb_statement_read(eb_host_system(), "fuzz", text, size, &statement, &error);
  if (status == EB_OK) {
    must(eb_statement_is(text, size));
    must_be_a_maker(&statement.maker);
    must_be_a_maker(&statement.other);
    must(strlen(statement.words) < EB_STATEMENT_WORDS_SIZE);
  } else {
    must_be_clear(&error, status);
  }
  status = eb_maker_key_look("fuzz", text, size, &maker, &sealed, &error);
  if (status == EB_OK)
    must_be_a_maker(&maker);
  else
    must_be_clear(&error, status);
  return 0;
}
