/* Options: what a procedure asks before its layout is fixed, and what of it an engine file answers beforehand.
 * Both are known when it declares itself, so that neither is found wrong in the middle of a job. */
#include "private.h"

#include <stdio.h>
#include <string.h>

/* The ask in the procedure's own unit, in which an engine file gives its numbers whatever the shop's habits are. */
static eb_json *in_own_unit(const eb_json *ask)
{
  eb_json *own = eb_json_copy(ask);
  const eb_json *asked = eb_json_get(ask, "asked");
  bool made = own != NULL;
  for (const eb_json *member = eb_json_first(asked); made && member != NULL; member = eb_json_next(member))
    made = eb_json_set(own, eb_json_key(member), eb_json_copy(member));
  if (made) {
    eb_json_remove(own, "asked");
    return own;
  }
  eb_json_destroy(own);
  return NULL;
}

/* An option is the ask that it will be, with its id. */
static eb_status read_option(eb_session *s, const eb_json *option, const char *place, eb_json **ask, eb_error *error)
{
  const char *id = eb_json_get_string(option, "id", "");
  const char *kind = eb_json_get_string(option, "kind", "");
  if (id[0] == '\0' || strlen(id) >= EB_ID_SIZE)
    return eb_fail(error, EB_SCRIPT, place, "an option needs an id, a text of at most %d bytes", (int)EB_ID_SIZE - 1);
  if (strcmp(kind, "choose") != 0 && strcmp(kind, "number") != 0)
    return eb_fail(error, EB_SCRIPT, place, "option \"%s\" is neither a choice nor a number", id);
  eb_error met;
  eb_json *made = NULL, *request = eb_json_copy(option);
  eb_status status = request == NULL ? out_of_memory(&met) : ask_make(s, request, &made, &met);
  eb_json_destroy(request);
  if (status != EB_OK)
    return eb_fail(error, status, place, "option \"%s\": %s", id, met.message);
  *ask = in_own_unit(made);
  eb_json_destroy(made);
  return *ask == NULL ? out_of_memory(error) : EB_OK;
}

/* "odd-left, odd-right" or what is wanted of a number. */
static const char *allowed(const eb_json *ask, char *text, size_t size)
{
  const eb_json *choice = eb_json_first(eb_json_get(ask, "options"));
  if (choice == NULL)
    return answer_wanted(ask, text, size);
  size_t used = (size_t)snprintf(text, size, "it can be ");
  const char *lead = "";
  for (; choice != NULL && used < size; choice = eb_json_next(choice)) {
    used += (size_t)snprintf(text + used, size - used, "%s%s", lead, eb_json_get_string(choice, "id", ""));
    lead = ", ";
  }
  return text;
}

static eb_status check_given(const eb_json *ask, const char *id, const eb_json *given, const char *part,
                             const char *file, eb_error *error)
{
  eb_json *value = NULL;
  eb_json *other = NULL;
  eb_status status = EB_BAD_VALUE;
  if (!eb_json_is_object(given))
    status = answer_check(ask, given, &value, &other, NULL);
  eb_json_destroy(value);
  eb_json_destroy(other);
  if (status == EB_OK)
    return EB_OK;
  if (status == EB_OUT_OF_MEMORY)
    return out_of_memory(error);
  char right[400];
  char *met = eb_json_text(given);
  eb_fail(error, EB_BAD_VALUE, file, "%s: \"%s\" is %.60s; %s", part, id, met == NULL ? "wrong" : met,
          allowed(ask, right, sizeof right));
  eb_json_text_free(met);
  return EB_BAD_VALUE;
}

static eb_status unknown_option(const eb_json *options, const char *id, const char *file, eb_error *error)
{
  const char *ids[ITEMS_MAX];
  size_t count = 0;
  for (const eb_json *option = eb_json_first(options); option != NULL; option = eb_json_next(option))
    ids[count++] = eb_json_get_string(option, "id", "");
  if (count == 0)
    return eb_fail(error, EB_BAD_VALUE, file,
                   "layout gives \"%.40s\", and this procedure leaves nothing of its layout open", id);
  char list[400];
  size_t used = 0;
  for (size_t i = 0; i < count && used < sizeof list; i++)
    used += (size_t)snprintf(list + used, sizeof list - used, "%s%s", i == 0 ? "" : ", ", ids[i]);
  const char *near = eb_nearest(id, ids, count);
  return eb_fail(error, EB_BAD_VALUE, file, "layout gives \"%.40s\", which this procedure does not ask for; %s%s", id,
                 near == NULL ? "it asks for " : "did you mean ", near == NULL ? list : near);
}

static const eb_json *find_option(const eb_json *options, const char *id)
{
  const eb_json *option = eb_json_first(options);
  while (option != NULL && strcmp(eb_json_get_string(option, "id", ""), id) != 0)
    option = eb_json_next(option);
  return option;
}

/* What an engine file says of its throttles answers an option of that name too. */
static eb_status check_in_file(const eb_json *ask, const char *id, const eb_json *engine, const char *file,
                               eb_error *error)
{
  static const char *const parts[] = {"layout", "throttle"};
  for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
    const eb_json *given = eb_json_get(eb_json_get(engine, parts[i]), id);
    if (given != NULL)
      return check_given(ask, id, given, parts[i], file, error);
  }
  return EB_OK;
}

static eb_status check_options(eb_session *s, const eb_json *options, const eb_json *engine, const char *place,
                               const char *file, eb_error *error)
{
  for (const eb_json *option = eb_json_first(options); option != NULL; option = eb_json_next(option)) {
    const char *id = eb_json_get_string(option, "id", "");
    eb_json *ask = NULL;
    eb_status status = read_option(s, option, place, &ask, error);
    if (status == EB_OK && find_option(options, id) != option)
      status = eb_fail(error, EB_SCRIPT, place, "there are two options \"%s\"", id);
    if (status == EB_OK)
      status = check_in_file(ask, id, engine, file, error);
    eb_json_destroy(ask);
    if (status != EB_OK)
      return status;
  }
  return EB_OK;
}

eb_status options_check(eb_session *s, const eb_json *declare, const eb_json *inputs, eb_error *error)
{
  const char *place = eb_json_get_string(declare, "at", "");
  const eb_json *options = eb_json_get(declare, "options");
  const eb_json *engine = eb_json_get(inputs, "engine_file");
  const eb_json *given = eb_json_get(engine, "layout");
  char file[200];
  snprintf(file, sizeof file, "engine file %.150s", eb_json_get_string(engine, "file", ""));
  if (options != NULL && (!eb_json_is_array(options) || eb_json_count(options) > ITEMS_MAX))
    return eb_fail(error, EB_SCRIPT, place, "options is to be a list of at most %d", (int)ITEMS_MAX);
  if (given != NULL && !eb_json_is_object(given))
    return eb_fail(error, EB_BAD_VALUE, file, "layout is to be an object, such as {\"cylinders\": 6}");
  eb_status status = check_options(s, options, engine, place, file, error);
  for (const eb_json *one = eb_json_first(given); status == EB_OK && one != NULL; one = eb_json_next(one))
    if (find_option(options, eb_json_key(one)) == NULL)
      status = unknown_option(options, eb_json_key(one), file, error);
  return status;
}
