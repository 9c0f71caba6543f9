#include "evenbore/layout.h"
#include "evenbore/text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Ranges that no real part leaves; a value outside is a slip of the author's pen. */
static const double EFFORT_MAX_MIN = 1440;
static const double GAIN_LOW = 0.25, GAIN_HIGH = 4;
static const double SPREAD_LOW = 1e-6, SPREAD_HIGH = 1;

/* What is read, and where an error is. */
typedef struct reader {
  eb_layout *layout;
  const char *place;
  eb_error *error;
} reader;

enum { SHOWN_SIZE = 48 };

/* A hostile name made fit for a message. */
static const char *shown(const char *name, char text[SHOWN_SIZE])
{
  size_t size = strlen(name);
  size_t used = 0;
  for (size_t at = 0; at < size;) {
    uint32_t c = 0;
    size_t length = eb_utf8_decode(name + at, size - at, &c);
    size_t step = length == 0 ? 1 : length;
    if (used + step + 4 > SHOWN_SIZE) {
      memcpy(text + used, "...", 3);
      used += 3;
      break;
    }
    if (length == 0 || eb_char_unprintable(c)) {
      text[used++] = '?';
    } else {
      memcpy(text + used, name + at, length);
      used += length;
    }
    at += step;
  }
  text[used] = '\0';
  return text;
}

static eb_status check_keys(const reader *r, const eb_json *object, const char *what, const char *const *known,
                            size_t count)
{
  for (const eb_json *member = eb_json_first(object); member != NULL; member = eb_json_next(member)) {
    const char *key = eb_json_key(member);
    bool found = false;
    for (size_t i = 0; i < count && !found; i++)
      found = strcmp(key, known[i]) == 0;
    if (found)
      continue;
    char text[SHOWN_SIZE];
    const char *near = eb_nearest(key, known, count);
    if (near != NULL)
      return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "%s has an unknown key \"%s\"; did you mean \"%s\"?", what,
                     shown(key, text), near);
    return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "%s has an unknown key \"%s\"", what, shown(key, text));
  }
  return EB_OK;
}

/* Copies a text of 1 to room - 1 bytes of printable characters. */
static eb_status read_name(const reader *r, const char *text, const char *what, char *name, size_t room)
{
  size_t size = strlen(text);
  char safe[SHOWN_SIZE];
  if (size == 0)
    return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "%s is empty", what);
  if (size >= room)
    return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "%s \"%s\" is longer than %zu bytes", what, shown(text, safe),
                   room - 1);
  for (size_t at = 0; at < size;) {
    uint32_t c = 0;
    size_t length = eb_utf8_decode(text + at, size - at, &c);
    if (length == 0 || eb_char_unprintable(c))
      return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "%s \"%s\" holds a character that cannot be shown", what,
                     shown(text, safe));
    at += length;
  }
  memcpy(name, text, size + 1);
  return EB_OK;
}

static eb_status read_bore_name(const reader *r, const eb_json *json, char name[EB_ID_SIZE])
{
  double number = eb_json_as_number(json, -1);
  if (eb_json_is_string(json))
    return read_name(r, eb_json_as_string(json, ""), "a bore's name", name, EB_ID_SIZE);
  if (!(number >= 0 && number <= 9999) || floor(number) < number)
    return eb_fail(r->error, EB_BAD_LAYOUT, r->place,
                   "a bore must be named by a text or a whole number from 0 to 9999");
  snprintf(name, EB_ID_SIZE, "%d", (int)number);
  return EB_OK;
}

static eb_status read_number(const reader *r, const eb_json *object, const char *what, const char *key, double low,
                             double high, double *value)
{
  const eb_json *json = eb_json_get(object, key);
  if (json == NULL)
    return EB_OK;
  if (!eb_json_is_number(json))
    return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "%s: \"%s\" must be a number from %g to %g", what, key, low,
                   high);
  double number = eb_json_as_number(json, 0);
  if (!(number >= low && number <= high))
    return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "%s: \"%s\" is %g; it must be from %g to %g", what, key, number,
                   low, high);
  *value = number;
  return EB_OK;
}

static eb_status read_bore(const reader *r, const eb_json *json)
{
  eb_layout *layout = r->layout;
  char name[EB_ID_SIZE];
  eb_status status = read_bore_name(r, json, name);
  if (status != EB_OK)
    return status;
  if (eb_layout_bore(layout, name) >= 0)
    return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "bore %s stands twice in the rows; each bore has one place",
                   name);
  if (layout->bore_count == EB_BORES_MAX)
    return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "there are more than %d bores", EB_BORES_MAX);
  memcpy(layout->bore[layout->bore_count++], name, EB_ID_SIZE);
  return EB_OK;
}

static eb_status read_row(const reader *r, const eb_json *json, int row)
{
  if (!eb_json_is_array(json) || eb_json_count(json) == 0)
    return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "row %d must be a list of one or more bores, front to rear",
                   row + 1);
  r->layout->row_start[row] = r->layout->bore_count;
  for (const eb_json *bore = eb_json_first(json); bore != NULL; bore = eb_json_next(bore)) {
    eb_status status = read_bore(r, bore);
    if (status != EB_OK)
      return status;
  }
  r->layout->row_size[row] = r->layout->bore_count - r->layout->row_start[row];
  return EB_OK;
}

static eb_status read_rows(const reader *r, const eb_json *rows)
{
  int count = eb_json_is_array(rows) ? eb_json_count(rows) : 0;
  if (count == 0)
    return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "a layout needs \"rows\": a list of one or more rows of bores");
  if (count > EB_ROWS_MAX)
    return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "there are %d rows; at most %d are possible", count, EB_ROWS_MAX);
  int row = 0;
  for (const eb_json *json = eb_json_first(rows); json != NULL; json = eb_json_next(json)) {
    eb_status status = read_row(r, json, row++);
    if (status != EB_OK)
      return status;
  }
  r->layout->row_count = count;
  return EB_OK;
}

static eb_status read_row_titles(const reader *r, const eb_json *titles)
{
  if (titles == NULL)
    return EB_OK;
  if (!eb_json_is_array(titles) || eb_json_count(titles) != r->layout->row_count)
    return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "\"row_titles\" must be a list of %d texts, one for each row",
                   r->layout->row_count);
  int row = 0;
  for (const eb_json *title = eb_json_first(titles); title != NULL; title = eb_json_next(title), row++) {
    if (!eb_json_is_string(title))
      return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "the title of row %d must be a text", row + 1);
    const char *text = eb_json_as_string(title, "");
    if (*text == '\0')
      continue;
    eb_status status = read_name(r, text, "a row's title", r->layout->row_title[row], EB_ID_SIZE);
    if (status != EB_OK)
      return status;
  }
  return EB_OK;
}

/* The names of all bores, for a message. */
static void list_bores(const eb_layout *layout, char *text, size_t room)
{
  size_t used = 0;
  text[0] = '\0';
  for (int i = 0; i < layout->bore_count && used < room; i++)
    used += (size_t)snprintf(text + used, room - used, "%s%s", i == 0 ? "" : " ", layout->bore[i]);
}

static eb_status read_side(const reader *r, const eb_json *json, const eb_adjuster *adjuster, eb_bores *side)
{
  if (!eb_json_is_array(json) || eb_json_count(json) == 0)
    return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "adjuster \"%s\": a side must be a list of one or more bores",
                   adjuster->id);
  for (const eb_json *bore = eb_json_first(json); bore != NULL; bore = eb_json_next(bore)) {
    char name[EB_ID_SIZE], all[300];
    eb_status status = read_bore_name(r, bore, name);
    if (status != EB_OK)
      return status;
    int index = eb_layout_bore(r->layout, name);
    if (index < 0) {
      list_bores(r->layout, all, sizeof all);
      return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "adjuster \"%s\" names bore %s; this layout has the bores %s",
                     adjuster->id, name, all);
    }
    if ((adjuster->first | *side) >> index & 1)
      return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "adjuster \"%s\" names bore %s %s", adjuster->id, name,
                     *side >> index & 1 ? "twice on one side" : "on both sides");
    *side |= (eb_bores)1 << index;
  }
  return EB_OK;
}

static eb_status read_sides(const reader *r, const eb_json *sides, eb_adjuster *adjuster)
{
  int count = eb_json_is_array(sides) ? eb_json_count(sides) : 0;
  if (count != 1 && count != 2)
    return eb_fail(r->error, EB_BAD_LAYOUT, r->place,
                   "adjuster \"%s\" needs \"sides\": one list of bores, or two, the bores that it raises first",
                   adjuster->id);
  eb_bores first = 0, second = 0;
  eb_status status = read_side(r, eb_json_at(sides, 0), adjuster, &first);
  adjuster->first = first;
  if (status == EB_OK && count == 2)
    status = read_side(r, eb_json_at(sides, 1), adjuster, &second);
  adjuster->second = second;
  return status;
}

/* Without a title of its own an adjuster is called by its id, and by its kind where the id does not tell it. */
static void make_title(eb_adjuster *adjuster)
{
  if (strstr(adjuster->id, adjuster->kind) != NULL)
    snprintf(adjuster->title, sizeof adjuster->title, "%s", adjuster->id);
  else
    snprintf(adjuster->title, sizeof adjuster->title, "%s %s", adjuster->id, adjuster->kind);
  for (char *c = adjuster->title; *c != '\0'; c++)
    if (*c == '-' || *c == '_')
      *c = ' ';
}

static eb_status read_id(const reader *r, const eb_json *json, eb_adjuster *adjuster)
{
  int number = r->layout->adjuster_count + 1;
  if (!eb_json_is_string(eb_json_get(json, "id")) || !eb_json_is_string(eb_json_get(json, "kind")))
    return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "adjuster %d needs \"id\" and \"kind\", both texts", number);
  eb_status status = read_name(r, eb_json_get_string(json, "id", ""), "an adjuster's id", adjuster->id, EB_ID_SIZE);
  if (status == EB_OK)
    status = read_name(r, eb_json_get_string(json, "kind", ""), "an adjuster's kind", adjuster->kind, EB_ID_SIZE);
  if (status != EB_OK)
    return status;
  if (eb_layout_adjuster(r->layout, adjuster->id) >= 0)
    return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "two adjusters have the id \"%s\"; each needs its own",
                   adjuster->id);
  make_title(adjuster);
  const eb_json *title = eb_json_get(json, "title");
  if (title == NULL)
    return EB_OK;
  if (!eb_json_is_string(title))
    return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "adjuster \"%s\": \"title\" must be a text", adjuster->id);
  return read_name(r, eb_json_as_string(title, ""), "an adjuster's title", adjuster->title, sizeof adjuster->title);
}

static eb_status read_figures(const reader *r, const eb_json *json, eb_adjuster *adjuster)
{
  char what[EB_ID_SIZE + 16];
  snprintf(what, sizeof what, "adjuster \"%s\"", adjuster->id);
  const eb_json *stopped = eb_json_get(json, "stopped");
  if (stopped != NULL && !eb_json_is_bool(stopped))
    return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "%s: \"stopped\" must be true or false", what);
  adjuster->stopped = eb_json_as_bool(stopped, true);
  eb_status status = read_number(r, json, what, "effort", 0, EFFORT_MAX_MIN, &adjuster->effort_min);
  if (status == EB_OK)
    status = read_number(r, json, what, "gain", GAIN_LOW, GAIN_HIGH, &adjuster->gain);
  if (status == EB_OK)
    status = read_number(r, json, what, "gain_spread", 0, GAIN_HIGH, &adjuster->gain_spread);
  if (status == EB_OK)
    status = read_number(r, json, what, "spread", SPREAD_LOW, SPREAD_HIGH, &adjuster->spread);
  return status;
}

/* Minutes for one use, where the layout does not say. This project's own figures. */
static double usual_effort_min(const char *kind)
{
  static const struct {
    const char *kind;
    double minutes;
  } known[] = {{"link", 4}, {"coupler", 6}, {"screw", 3}, {"bleed", 3}, {"plate", 15}};
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
    if (strcmp(kind, known[i].kind) == 0)
      return known[i].minutes;
  return 6;
}

static eb_status read_adjuster(const reader *layout_reader, const eb_json *json)
{
  static const char *const keys[] = {"id",      "kind", "title",       "sides",  "effort",
                                     "stopped", "gain", "gain_spread", "spread", "at"};
  reader r = *layout_reader;
  r.place = eb_json_get_string(json, "at", r.place);
  if (!eb_json_is_object(json))
    return eb_fail(r.error, EB_BAD_LAYOUT, r.place, "adjuster %d must be an object with \"id\", \"kind\" and \"sides\"",
                   r.layout->adjuster_count + 1);
  if (r.layout->adjuster_count == EB_ADJUSTERS_MAX)
    return eb_fail(r.error, EB_BAD_LAYOUT, r.place, "there are more than %d adjusters", EB_ADJUSTERS_MAX);
  eb_adjuster adjuster = {.gain = 1, .gain_spread = 0.5, .spread = 0.08};
  eb_status status = check_keys(&r, json, "an adjuster", keys, sizeof keys / sizeof keys[0]);
  if (status == EB_OK)
    status = read_id(&r, json, &adjuster);
  adjuster.effort_min = usual_effort_min(adjuster.kind);
  if (status == EB_OK)
    status = read_sides(&r, eb_json_get(json, "sides"), &adjuster);
  if (status == EB_OK)
    status = read_figures(&r, json, &adjuster);
  if (status == EB_OK)
    r.layout->adjuster[r.layout->adjuster_count++] = adjuster;
  return status;
}

static eb_status read_adjusters(const reader *r, const eb_json *adjusters)
{
  if (!eb_json_is_array(adjusters))
    return eb_fail(r->error, EB_BAD_LAYOUT, r->place, "a layout needs \"adjusters\": a list, which may be empty");
  for (const eb_json *json = eb_json_first(adjusters); json != NULL; json = eb_json_next(json)) {
    eb_status status = read_adjuster(r, json);
    if (status != EB_OK)
      return status;
  }
  return EB_OK;
}

eb_status eb_layout_read(const eb_json *json, const char *place, eb_layout *layout, eb_error *error)
{
  static const char *const keys[] = {"rows", "row_titles", "adjusters", "plate_spread", "at"};
  eb_layout made = {.plate_spread = 0.05};
  reader r = {.layout = &made, .place = eb_json_get_string(json, "at", place), .error = error};
  if (!eb_json_is_object(json))
    return eb_fail(error, EB_BAD_LAYOUT, place, "a layout must be an object with \"rows\" and \"adjusters\"");
  eb_status status = check_keys(&r, json, "the layout", keys, sizeof keys / sizeof keys[0]);
  if (status == EB_OK)
    status = read_rows(&r, eb_json_get(json, "rows"));
  if (status == EB_OK)
    status = read_row_titles(&r, eb_json_get(json, "row_titles"));
  if (status == EB_OK)
    status = read_adjusters(&r, eb_json_get(json, "adjusters"));
  if (status == EB_OK)
    status = read_number(&r, json, "the layout", "plate_spread", SPREAD_LOW, SPREAD_HIGH, &made.plate_spread);
  if (status == EB_OK)
    *layout = made;
  return status;
}
