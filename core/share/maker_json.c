#include "maker_json.h"

#include <stdio.h>
#include <string.h>

bool maker_text_fits(const char *text, size_t size)
{
  size_t length = strlen(text);
  if (length >= size)
    return false;
  for (size_t at = 0, step; at < length; at += step) {
    uint32_t c = 0;
    step = eb_utf8_decode(text + at, length - at, &c);
    if (step == 0 || eb_char_unprintable(c))
      return false;
  }
  return true;
}

eb_status eb_maker_name_check(const char *name, eb_error *error)
{
  size_t size = strlen(name);
  if (size == 0)
    return eb_fail(error, EB_BAD_TEXT, "", "the maker's name is empty; for example \"Nordhavn Manifolds\"");
  if (size >= EB_MAKER_NAME_SIZE)
    return eb_fail(error, EB_BAD_TEXT, "", "the maker's name has %zu bytes; at most %d are taken", size,
                   (int)EB_MAKER_NAME_SIZE - 1);
  if (!maker_text_fits(name, EB_MAKER_NAME_SIZE) || name[0] == ' ' || name[size - 1] == ' ')
    return eb_fail(error, EB_BAD_TEXT, "",
                   "the maker's name holds a character that cannot be shown, or a space at an end");
  return EB_OK;
}

bool maker_json_read(const eb_json *object, eb_maker *maker)
{
  eb_maker read;
  const char *name = eb_json_get_string(object, "name", "");
  if (eb_maker_name_check(name, NULL) != EB_OK ||
      eb_public_key_read(eb_json_get_string(object, "key", ""), &read.key, NULL) != EB_OK)
    return false;
  snprintf(read.name, sizeof read.name, "%s", name);
  *maker = read;
  return true;
}

eb_json *maker_json_make(const eb_maker *maker)
{
  eb_json *made = eb_json_object();
  if (eb_json_set_string(made, "name", maker->name) && eb_json_set_string(made, "key", maker->key.text))
    return made;
  eb_json_destroy(made);
  return NULL;
}
