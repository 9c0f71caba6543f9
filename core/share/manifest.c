/* The manifest of a bundle: read field by field, and written. */
#include "manifest.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

eb_status eb_share_keys(const eb_json *object, const char *what, const char *const *keys, size_t count, eb_error *error)
{
  const eb_json *member = eb_json_first(object);
  if (!eb_json_is_object(object))
    return eb_fail(error, EB_BAD_FORM, "", "%s is missing, or no object", what);
  for (size_t i = 0; i < count; i++) {
    if (member == NULL || strcmp(eb_json_key(member), keys[i]) != 0)
      return eb_fail(error, EB_BAD_FORM, "", "%s: \"%s\" is missing at its place", what, keys[i]);
    member = eb_json_next(member);
  }
  if (member != NULL)
    return eb_fail(error, EB_BAD_FORM, "", "%s: \"%.60s\" is not known", what, eb_json_key(member));
  return EB_OK;
}

/* A reader fails once, with the first thing that is wrong. */
typedef struct reader {
  eb_status status;
  eb_error *error;
} reader;

static void refuse(reader *r, const char *key, const char *message)
{
  if (r->status == EB_OK)
    r->status = eb_fail(r->error, EB_BAD_FORM, "", "%s%s", key, message);
}

static bool is_shown(const char *text)
{
  size_t size = strlen(text);
  uint32_t c = 0;
  for (size_t at = 0, step; at < size; at += step) {
    step = eb_utf8_decode(text + at, size - at, &c);
    if (step == 0 || eb_char_unprintable(c))
      return false;
  }
  return true;
}

static const char *check_text(reader *r, const eb_json *value, const char *key, size_t most)
{
  const char *text = eb_json_as_string(value, "");
  if (text[0] == '\0' || strlen(text) > most)
    refuse(r, key, " is missing, empty or too long");
  else if (!is_shown(text))
    refuse(r, key, " holds a character that cannot be shown");
  return text;
}

static const char *read_text(reader *r, const eb_json *object, const char *key, size_t most)
{
  return check_text(r, eb_json_get(object, key), key, most);
}

static int read_count(reader *r, const eb_json *object, const char *key, int low, int high)
{
  int count = eb_json_get_int(object, key, -1);
  if (count < low || count > high)
    refuse(r, key, " is no whole number in its limits");
  return count;
}

static double read_share(reader *r, const eb_json *object, const char *key)
{
  double share = eb_json_get_number(object, key, 0);
  if (!(share > 0 && share < 1))
    refuse(r, key, " is no number between 0 and 1");
  return share;
}

static int read_texts(reader *r, const eb_json *object, const char *key, const char *texts[EB_BUNDLE_TEXTS_MAX])
{
  const eb_json *list = eb_json_get(object, key);
  int count = 0;
  if (!eb_json_is_array(list) || eb_json_count(list) > EB_BUNDLE_TEXTS_MAX) {
    refuse(r, key, " is no list of texts, or too long");
    return 0;
  }
  for (const eb_json *text = eb_json_first(list); text != NULL; text = eb_json_next(text))
    texts[count++] = check_text(r, text, key, EB_BUNDLE_TEXT_MAX);
  return count;
}

static void read_maker(reader *r, const eb_json *json, eb_manifest *m)
{
  static const char *const keys[] = {"name", "key"};
  const eb_json *maker = eb_json_get(json, "maker");
  eb_error met;
  if (r->status == EB_OK)
    r->status = eb_share_keys(maker, "maker", keys, 2, r->error);
  m->maker = read_text(r, maker, "name", EB_BUNDLE_MAKER_MAX);
  if (r->status == EB_OK && eb_public_key_read(eb_json_get_string(maker, "key", ""), &m->key, &met) != EB_OK)
    r->status = eb_fail(r->error, EB_BAD_FORM, "", "maker: %s", met.message);
}

/* As a bundle has it: what the line protocol shows, without the list of bores that is in the rows already. */
static eb_json *layout_json(const eb_layout *layout)
{
  eb_json *json = eb_layout_json(layout);
  if (json != NULL)
    eb_json_remove(json, "bores");
  return json;
}

static void read_layout(reader *r, const eb_json *json, eb_layout *layout)
{
  eb_error met;
  if (r->status != EB_OK)
    return;
  if (eb_layout_read(json, "", layout, &met) != EB_OK) {
    r->status = eb_fail(r->error, EB_BAD_FORM, "", "layouts: %s", met.message);
    return;
  }
  eb_json *again = layout_json(layout);
  if (again == NULL)
    r->status = eb_fail(r->error, EB_OUT_OF_MEMORY, "", "out of memory");
  else if (!eb_json_equal(again, json))
    refuse(r, "layouts", ": one is not spelled as evenbore writes it");
  eb_json_destroy(again);
}

static void read_layouts(reader *r, const eb_json *json, eb_manifest *m, eb_layout *layouts)
{
  const eb_json *list = eb_json_get(json, "layouts");
  m->layouts = layouts;
  if (!eb_json_is_array(list) || eb_json_count(list) > EB_BUNDLE_LAYOUTS_MAX) {
    refuse(r, "layouts", " is no list, or too long");
    return;
  }
  for (const eb_json *one = eb_json_first(list); one != NULL; one = eb_json_next(one))
    read_layout(r, one, &layouts[m->layout_count++]);
}

static const char *const figure_keys[] = {"program", "engines", "seed",    "faults",   "tolerance",
                                          "risk",    "even",    "claimed", "stuck",    "failed",
                                          "claims",  "wrong",   "stops",   "readings", "minutes"};
enum { FIGURES = sizeof figure_keys / sizeof figure_keys[0], COUNT_MAX = 10000000 };

static void read_figures(reader *r, const eb_json *json, eb_bundle_figures *f)
{
  if (r->status == EB_OK)
    r->status = eb_share_keys(json, "rehearsal", figure_keys, FIGURES, r->error);
  f->program = read_text(r, json, "program", EB_BUNDLE_MAKER_MAX);
  f->engines = read_count(r, json, "engines", 1, COUNT_MAX);
  f->seed = read_count(r, json, "seed", 0, INT32_MAX);
  f->faults = read_text(r, json, "faults", EB_BUNDLE_VERSION_MAX);
  f->tolerance = read_share(r, json, "tolerance");
  f->risk = read_share(r, json, "risk");
  f->even = read_count(r, json, "even", 0, f->engines);
  f->claimed = read_count(r, json, "claimed", 0, f->engines);
  f->stuck = read_count(r, json, "stuck", 0, f->engines);
  f->failed = read_count(r, json, "failed", 0, f->engines);
  f->claims = read_count(r, json, "claims", 0, f->engines);
  f->wrong = read_count(r, json, "wrong", 0, f->claims);
  f->stops = read_count(r, json, "stops", 0, COUNT_MAX);
  f->readings = read_count(r, json, "readings", 0, COUNT_MAX);
  f->minutes = read_count(r, json, "minutes", 0, COUNT_MAX);
  if (r->status == EB_OK && f->even + f->claimed + f->stuck + f->failed != f->engines)
    refuse(r, "rehearsal", ": the engines do not add up");
}

eb_status eb_manifest_read(const eb_json *json, eb_manifest *manifest, eb_layout *layouts, eb_error *error)
{
  reader r = {.status = EB_OK, .error = error};
  eb_manifest m = {.rehearsed = eb_json_get(json, "rehearsal") != NULL};
  m.id = read_text(&r, json, "id", EB_ID_SIZE - 1);
  if (strspn(m.id, "abcdefghijklmnopqrstuvwxyz0123456789-") != strlen(m.id))
    refuse(&r, "id", " is to be small letters, digits and hyphens");
  m.version = read_text(&r, json, "version", EB_BUNDLE_VERSION_MAX);
  m.api = read_count(&r, json, "api", 1, COUNT_MAX);
  m.title = read_text(&r, json, "title", EB_BUNDLE_TITLE_MAX);
  m.revision = read_count(&r, json, "revision", 1, EB_BUNDLE_REVISION_MAX);
  read_maker(&r, json, &m);
  m.licence = read_text(&r, json, "licence", EB_BUNDLE_TITLE_MAX);
  m.instrument_count = read_texts(&r, json, "instruments", m.instruments);
  m.hazard_count = read_texts(&r, json, "hazards", m.hazards);
  read_layouts(&r, json, &m, layouts);
  if (m.rehearsed)
    read_figures(&r, eb_json_get(json, "rehearsal"), &m.figures);
  if (r.status == EB_OK)
    *manifest = m;
  return r.status;
}

bool eb_bundle_is_name(const char *name, bool library)
{
  static const char letters[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-";
  if (strlen(name) >= EB_BUNDLE_NAME_SIZE - 2 || (library && strncmp(name, "lib/", 4) != 0))
    return false;
  name += library ? 4 : 0;
  size_t size = strspn(name, letters);
  return size > 0 && strcmp(name + size, ".lua") == 0;
}

static bool add_texts(eb_json *json, const char *key, const char *const *texts, int count)
{
  eb_json *list = eb_json_array();
  bool made = list != NULL;
  for (int i = 0; made && i < count; i++)
    made = eb_json_add_string(list, texts[i]);
  return eb_json_set(json, key, list) && made;
}

static bool add_layouts(eb_json *json, const eb_manifest *m)
{
  eb_json *list = eb_json_array();
  bool made = list != NULL;
  for (int i = 0; made && i < m->layout_count; i++)
    made = eb_json_add(list, layout_json(&m->layouts[i]));
  return eb_json_set(json, "layouts", list) && made;
}

static bool add_maker(eb_json *json, const eb_manifest *m)
{
  eb_json *maker = eb_json_object();
  bool made = eb_json_set_string(maker, "name", m->maker) && eb_json_set_string(maker, "key", m->key.text);
  return eb_json_set(json, "maker", maker) && made;
}

static bool add_figures(eb_json *json, const eb_bundle_figures *f)
{
  eb_json *figures = eb_json_object();
  const double number[FIGURES] = {
      [1] = f->engines, [2] = f->seed,      [4] = f->tolerance, [5] = f->risk,    [6] = f->even,
      [7] = f->claimed, [8] = f->stuck,     [9] = f->failed,    [10] = f->claims, [11] = f->wrong,
      [12] = f->stops,  [13] = f->readings, [14] = f->minutes};
  bool made = figures != NULL;
  for (size_t i = 0; made && i < FIGURES; i++)
    made = i == 0   ? eb_json_set_string(figures, figure_keys[i], f->program)
           : i == 3 ? eb_json_set_string(figures, figure_keys[i], f->faults)
                    : eb_json_set_number(figures, figure_keys[i], number[i]);
  return eb_json_set(json, "rehearsal", figures) && made;
}

static bool add_file(eb_json *files, const eb_source *source)
{
  char digest[EB_DIGEST_SIZE];
  eb_json *file = eb_json_object();
  eb_digest(source->text, source->size, digest);
  bool made = eb_json_set_string(file, "name", source->name) &&
              eb_json_set_number(file, "size", (double)source->size) && eb_json_set_string(file, "digest", digest);
  return eb_json_add(files, file) && made;
}

static bool add_files(eb_json *json, const eb_source *sources, size_t count)
{
  eb_json *files = eb_json_array();
  bool made = files != NULL;
  for (size_t i = 0; made && i < count; i++)
    made = add_file(files, &sources[i]);
  return eb_json_set(json, "files", files) && made;
}

eb_json *eb_manifest_json(const eb_manifest *m, const eb_source *sources, size_t count)
{
  eb_json *json = eb_json_object();
  if (eb_json_set_string(json, "id", m->id) && eb_json_set_string(json, "version", m->version) &&
      eb_json_set_number(json, "api", m->api) && eb_json_set_string(json, "title", m->title) &&
      eb_json_set_number(json, "revision", m->revision) && add_maker(json, m) &&
      eb_json_set_string(json, "licence", m->licence) &&
      add_texts(json, "instruments", m->instruments, m->instrument_count) &&
      add_texts(json, "hazards", m->hazards, m->hazard_count) && add_layouts(json, m) &&
      (!m->rehearsed || add_figures(json, &m->figures)) && add_files(json, sources, count))
    return json;
  eb_json_destroy(json);
  return NULL;
}
