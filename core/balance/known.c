#include "evenbore/known.h"

#include "evenbore/evidence.h"
#include "evenbore/format.h"

#include <stdio.h>
#include <string.h>

static const double GAIN_LOW = 0.25, GAIN_HIGH = 4, SPREAD_MOST = 4;
/* Nobody starts from what is as doubtful as an adjuster that was never used: 0.5, where its author says nothing. */
static const double SPREAD_USEFUL = 0.45;
enum { NAMED_MOST = 6 }; /* adjusters that are told one by one */

bool eb_known_is_sound(const eb_json *answered)
{
  double gain = eb_json_get_number(answered, "gain", 0), spread = eb_json_get_number(answered, "spread", 0);
  return eb_json_get_string(answered, "adjuster", "")[0] != '\0' && gain >= GAIN_LOW && gain <= GAIN_HIGH &&
         spread > 0 && spread <= SPREAD_MOST;
}

static const eb_json *find(const eb_json *list, const char *adjuster)
{
  const eb_json *one = eb_json_first(list);
  while (one != NULL && strcmp(eb_json_get_string(one, "adjuster", ""), adjuster) != 0)
    one = eb_json_next(one);
  return one;
}

const eb_json *eb_known_of(const eb_json *known, const eb_json *adjuster)
{
  const eb_json *one = find(eb_json_get(known, "adjusters"), eb_json_get_string(adjuster, "id", ""));
  bool same = one != NULL && eb_json_equal(eb_json_get(one, "kind"), eb_json_get(adjuster, "kind")) &&
              eb_json_equal(eb_json_get(one, "sides"), eb_json_get(adjuster, "sides"));
  return same ? one : NULL;
}

static eb_json *later(const eb_json *answered)
{
  eb_gain gain = eb_gain_later(
      (eb_gain){.mean = eb_json_get_number(answered, "gain", 1), .spread = eb_json_get_number(answered, "spread", 1)});
  eb_json *made = eb_json_copy(answered);
  if (eb_json_set_number(made, "spread", gain.spread))
    return made;
  eb_json_destroy(made);
  return NULL;
}

static eb_status add_all(const eb_json *answered, eb_json *list, eb_error *error)
{
  for (const eb_json *one = eb_json_first(answered); one != NULL; one = eb_json_next(one)) {
    if (!eb_known_is_sound(one))
      return eb_fail(error, EB_BAD_VALUE, "", "what it says an adjuster answered cannot be");
    eb_json *made = later(one);
    if (eb_json_get_number(made, "spread", 0) > SPREAD_USEFUL)
      eb_json_destroy(made);
    else if (!eb_json_add(list, made))
      return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  }
  return EB_OK;
}

eb_status eb_known_make(const eb_json *open, const eb_json *end, const char *digest, eb_json **known, eb_error *error)
{
  const eb_json *answered = eb_json_get(end, "answered");
  if (end == NULL)
    return eb_fail(error, EB_REFUSED, "", "it is not over");
  if (answered == NULL)
    return eb_fail(error, EB_NOT_FOUND, "", "it does not say what its adjusters answered");
  if (eb_json_count(answered) == 0)
    return eb_fail(error, EB_NOT_FOUND, "", "nothing was adjusted in it");
  eb_json *made = eb_json_object(), *list = eb_json_array();
  eb_status status = add_all(answered, list, error);
  bool whole = eb_json_set_string(made, "session", eb_json_get_string(open, "session", "?")) &&
               eb_json_set_string(made, "time", eb_json_get_string(open, "time", "")) &&
               eb_json_set_string(made, "digest", digest);
  whole = eb_json_set(made, "adjusters", list) && whole;
  if (status == EB_OK && !whole)
    status = eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  if (status == EB_OK && eb_json_count(list) == 0)
    status = eb_fail(error, EB_NOT_FOUND, "", "it has taught too little to start from");
  if (status == EB_OK)
    *known = made;
  else
    eb_json_destroy(made);
  return status;
}

static void add_one(const eb_json *one, const char *title, int count, eb_text *text)
{
  char gain[EB_FORMAT_SIZE], spread[EB_FORMAT_SIZE];
  eb_text_printf(text, "%s%.64s %s \xc2\xb1%s", count == 0 ? "" : ", ", title,
                 eb_format_fixed(eb_json_get_number(one, "gain", 1), 2, gain),
                 eb_format_fixed(eb_json_get_number(one, "spread", 1), 2, spread));
}

static int add_those_of(const eb_json *known, const eb_json *layout, eb_text *text)
{
  int count = 0;
  const eb_json *part = eb_json_first(eb_json_get(layout, "adjusters"));
  for (; part != NULL; part = eb_json_next(part)) {
    const eb_json *one = eb_known_of(known, part);
    if (one != NULL && count < NAMED_MOST)
      add_one(one, eb_json_get_string(part, "title", eb_json_get_string(part, "id", "?")), count, text);
    count += one != NULL;
  }
  return count;
}

static int add_all_named(const eb_json *known, eb_text *text)
{
  int count = 0;
  const eb_json *one = eb_json_first(eb_json_get(known, "adjusters"));
  for (; one != NULL; one = eb_json_next(one), count++)
    if (count < NAMED_MOST)
      add_one(one, eb_json_get_string(one, "adjuster", "?"), count, text);
  return count;
}

void eb_known_words(const eb_json *known, const eb_json *layout, eb_text *text)
{
  char date[EB_FORMAT_SIZE];
  const char *session = eb_json_get_string(known, "session", "?");
  eb_text listed;
  eb_text_init(&listed, text->host);
  eb_format_date(eb_json_get_string(known, "time", ""), date);
  int count = layout != NULL ? add_those_of(known, layout, &listed) : add_all_named(known, &listed);
  if (count == 0)
    eb_text_printf(text, "Session %.200s (%.10s) was about other adjusters: nothing of it is taken over.", session,
                   date);
  else
    eb_text_printf(text, "Starts from what was answered in session %.200s (%.10s), times the wish, with its doubt: %s",
                   session, date, eb_text_string(&listed));
  if (count > NAMED_MOST)
    eb_text_printf(text, " and %d others", count - NAMED_MOST);
  if (count > 0)
    eb_text_add(text, ". Readings come before it where they say otherwise.");
  text->failed = text->failed || listed.failed;
  eb_text_clear(&listed);
}
