/* The shelf: bundles that stand in the shop's data folder, and what does not come on it. */
#include "makers.h"

#include "evenbore/text.h"

#include <assert.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { NAME_SIZE = EB_DIGEST_SIZE + sizeof EB_BUNDLE_ENDING };
static const char folder_name[] = "shelf";

static eb_status out_of_memory(eb_error *error)
{
  return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
}

eb_status eb_shelf_open(const eb_host *host, const char *data, const char *const *builtin, size_t builtin_count,
                        bool change, eb_shelf **shelf, eb_error *error)
{
  eb_shelf *made = host->allocate(host->context, NULL, sizeof *made);
  if (made == NULL)
    return out_of_memory(error);
  *made = (eb_shelf){.host = host, .builtin = builtin, .builtin_count = builtin_count, .held = -1};
  eb_status status = EB_OK;
  if (snprintf(made->data, sizeof made->data, "%s", data) >= (int)sizeof made->data)
    status = eb_fail(error, EB_OUT_OF_RANGE, "", "the path of the data folder is too long");
  if (status == EB_OK && change)
    status = eb_folder_make(host, data, 0755, error);
  if (status == EB_OK && change)
    status = eb_folder_hold(host, data, &made->held, error);
  made->changes = status == EB_OK && change;
  if (status == EB_OK)
    status = makers_load(made, error);
  if (status == EB_OK)
    *shelf = made;
  else
    eb_shelf_close(made);
  return status;
}

void eb_shelf_close(eb_shelf *shelf)
{
  if (shelf == NULL)
    return;
  const eb_host *host = shelf->host;
  if (shelf->held >= 0)
    eb_folder_release(host, shelf->held);
  eb_json_destroy(shelf->makers);
  host->allocate(host->context, shelf, 0);
}

static eb_status folder_path(const eb_shelf *shelf, char folder[EB_PATH_SIZE], eb_error *error)
{
  return eb_path_join(shelf->data, folder_name, folder, error);
}

static eb_status bundle_path(const eb_shelf *shelf, const char *digest, char path[EB_PATH_SIZE], eb_error *error)
{
  char folder[EB_PATH_SIZE], name[NAME_SIZE];
  snprintf(name, sizeof name, "%s%s", digest, EB_BUNDLE_ENDING);
  eb_status status = folder_path(shelf, folder, error);
  return status == EB_OK ? eb_path_join(folder, name, path, error) : status;
}

/* One that is on the shelf, as it is looked through. */
typedef struct item {
  char name[NAME_SIZE], id[EB_SHELF_ID_SIZE];
  int revision;
} item;

typedef struct items {
  const eb_shelf *shelf;
  item *list;
  size_t count, room;
  bool failed;
} items;

/* Only what this program puts there: 64 digits of a digest and the ending. */
static bool is_shelf_name(const char *name)
{
  return strlen(name) == NAME_SIZE - 1 - 1 && strspn(name, "0123456789abcdef") == EB_DIGEST_SIZE - 1 &&
         strcmp(name + EB_DIGEST_SIZE - 1, EB_BUNDLE_ENDING) == 0;
}

/* Non-zero ends the walk: memory has run out. */
static int take_name(void *argument, const char *name)
{
  items *all = argument;
  const eb_host *host = all->shelf->host;
  if (!is_shelf_name(name))
    return 0;
  if (all->count == all->room) {
    size_t room = all->room == 0 ? 16 : all->room * 2;
    item *grown = host->allocate(host->context, all->list, room * sizeof *grown);
    if (grown == NULL) {
      all->failed = true;
      return -1;
    }
    all->list = grown;
    all->room = room;
  }
  item *one = &all->list[all->count++];
  *one = (item){.revision = 0};
  snprintf(one->name, sizeof one->name, "%s", name);
  return 0;
}

/* Reads one and checks that it is what its name says. */
static eb_status read_item(const eb_shelf *shelf, const char *path, const char *name, eb_bundle *bundle,
                           eb_error *error)
{
  char *text = NULL;
  size_t size = 0;
  eb_status status = eb_file_read(shelf->host, path, EB_BUNDLE_MAX, EB_FILE_FOUND, &text, &size, error);
  if (status != EB_OK)
    return status;
  status = eb_bundle_read(shelf->host, path, text, size, bundle, error);
  shelf->host->allocate(shelf->host->context, text, 0);
  if (status != EB_OK || strncmp(bundle->digest, name, EB_DIGEST_SIZE - 1) == 0)
    return status;
  eb_bundle_clear(bundle);
  return eb_fail(error, EB_DAMAGED, path, "another bundle lies here than its name says; remove the file");
}

static eb_status read_below(const eb_shelf *shelf, const char *folder, const char *name, char path[EB_PATH_SIZE],
                            eb_bundle *bundle, eb_error *error)
{
  eb_status status = eb_path_join(folder, name, path, error);
  return status == EB_OK ? read_item(shelf, path, name, bundle, error) : status;
}

static int by_id(const void *a, const void *b)
{
  const item *one = a, *other = b;
  int order = strcmp(one->id, other->id);
  return order != 0                         ? order
         : one->revision != other->revision ? (one->revision < other->revision ? -1 : 1)
                                            : strcmp(one->name, other->name);
}

/* What orders them is in the files. One that cannot be read stands first. */
static eb_status sort_items(items *all, const char *folder, eb_error *error)
{
  for (size_t i = 0; i < all->count; i++) {
    char path[EB_PATH_SIZE];
    eb_bundle bundle;
    eb_error why;
    eb_status status = read_below(all->shelf, folder, all->list[i].name, path, &bundle, &why);
    if (status == EB_OUT_OF_MEMORY)
      return out_of_memory(error);
    if (status != EB_OK)
      continue;
    snprintf(all->list[i].id, sizeof all->list[i].id, "%s", bundle.manifest.id);
    all->list[i].revision = bundle.manifest.revision;
    eb_bundle_clear(&bundle);
  }
  if (all->count > 1)
    qsort(all->list, all->count, sizeof *all->list, by_id);
  return EB_OK;
}

static eb_status show_items(const items *all, const char *folder,
                            bool (*each)(void *, const char *, const eb_bundle *, const eb_error *), void *context,
                            eb_error *error)
{
  bool goes_on = true;
  for (size_t i = 0; goes_on && i < all->count; i++) {
    char path[EB_PATH_SIZE];
    eb_bundle bundle;
    eb_error why;
    eb_status status = read_below(all->shelf, folder, all->list[i].name, path, &bundle, &why);
    if (status == EB_OUT_OF_MEMORY)
      return out_of_memory(error);
    goes_on = each(context, path, status == EB_OK ? &bundle : NULL, status == EB_OK ? NULL : &why);
    if (status == EB_OK)
      eb_bundle_clear(&bundle);
  }
  return EB_OK;
}

eb_status eb_shelf_list(const eb_shelf *shelf,
                        bool (*each)(void *context, const char *path, const eb_bundle *bundle, const eb_error *why),
                        void *context, eb_error *error)
{
  char folder[EB_PATH_SIZE];
  const eb_host *host = shelf->host;
  items all = {.shelf = shelf};
  eb_status status = folder_path(shelf, folder, error);
  if (status != EB_OK || host->files.kind(host->context, folder) != EB_PATH_FOLDER)
    return status;
  if (host->files.list(host->context, folder, take_name, &all) != 0)
    status = eb_fail(error, EB_IO, folder, "this folder cannot be read (%s)", strerror(errno));
  if (all.failed)
    status = out_of_memory(error);
  if (status == EB_OK)
    status = sort_items(&all, folder, error);
  if (status == EB_OK)
    status = show_items(&all, folder, each, context, error);
  host->allocate(host->context, all.list, 0);
  return status;
}

/* Letters and digits that are taken for one another, brought to one of them. */
static void plain_shape(const char *id, char shape[EB_SHELF_ID_SIZE * 2])
{
  static const struct {
    const char *met, *shape;
  } like[] = {{"rn", "m"}, {"vv", "w"}, {"cl", "d"}, {"0", "o"}, {"1", "l"},
              {"i", "l"},  {"5", "s"},  {"2", "z"},  {"8", "b"}, {"-", ""}};
  size_t used = 0;
  while (*id != '\0' && used < EB_SHELF_ID_SIZE) {
    size_t i = 0;
    while (i < sizeof like / sizeof like[0] && strncmp(id, like[i].met, strlen(like[i].met)) != 0)
      i++;
    if (i == sizeof like / sizeof like[0]) {
      shape[used++] = *id++;
      continue;
    }
    if (like[i].shape[0] != '\0')
      shape[used++] = like[i].shape[0];
    id += strlen(like[i].met);
  }
  shape[used] = '\0';
}

bool eb_ids_look_alike(const char *id, const char *other)
{
  char shape[2][EB_SHELF_ID_SIZE * 2];
  plain_shape(id, shape[0]);
  plain_shape(other, shape[1]);
  return strcmp(id, other) != 0 && strcmp(shape[0], shape[1]) == 0;
}

static eb_status check_builtin(const eb_shelf *shelf, const eb_manifest *m, eb_error *error)
{
  for (size_t i = 0; i < shelf->builtin_count; i++) {
    if (strcmp(m->id, shelf->builtin[i]) == 0)
      return eb_fail(error, EB_SHADOWS, m->id,
                     "this is the id of a built-in procedure; the maker has to give it one of its own");
    if (eb_ids_look_alike(m->id, shelf->builtin[i]))
      return eb_fail(error, EB_LOOKALIKE, m->id, "this id looks like that of the built-in procedure %s",
                     shelf->builtin[i]);
  }
  return EB_OK;
}

static eb_status check_key(const eb_shelf *shelf, const eb_manifest *m, eb_error *error)
{
  eb_known_maker known;
  if (eb_maker_name_check(m->maker, NULL) != EB_OK)
    return eb_fail(error, EB_BAD_FORM, m->id, "its maker's name begins or ends with a space; it is to be told by it");
  eb_shelf_know(shelf, &m->key, &known);
  if (known.standing == EB_REVOKED_MAKER)
    return eb_fail(error, EB_REVOKED, m->id, "the key of %s that signed it is revoked (%s)", known.maker.name,
                   eb_revoked_word(known.reason));
  if (known.handed_over)
    return eb_fail(error, EB_HANDED_OVER, m->id,
                   "%s signs with another key by now; nothing new of the old one is taken", known.maker.name);
  return EB_OK;
}

typedef struct check {
  const eb_shelf *shelf;
  const eb_bundle *bundle;
  size_t count;
  bool there;
  eb_status status;
  eb_error error;
} check;

static eb_status version_taken(const char *id, const char *version, int revision, eb_error *error)
{
  return eb_fail(error, EB_VERSION_TAKEN, id,
                 "version %s, revision %d, was seen here with another content; the maker has to count both up", version,
                 revision);
}

static void check_against(check *c, const eb_manifest *there)
{
  const eb_manifest *m = &c->bundle->manifest;
  if (strcmp(there->id, m->id) != 0) {
    if (eb_ids_look_alike(m->id, there->id))
      c->status =
          eb_fail(&c->error, EB_LOOKALIKE, m->id, "this id looks like that of %s, which is on the shelf", there->id);
  } else if (!makers_related(c->shelf->makers, m->key.text, there->key.text)) {
    c->status = eb_fail(&c->error, EB_OTHER_MAKER, m->id,
                        "the procedure of this id here is %s's; remove that first, if this one is to take its place",
                        there->maker);
  } else if (strcmp(there->version, m->version) == 0 || there->revision == m->revision) {
    c->status = version_taken(m->id, there->version, there->revision, &c->error);
  }
}

static bool check_one(void *context, const char *path, const eb_bundle *bundle, const eb_error *why)
{
  (void)path;
  (void)why;
  check *c = context;
  c->count++;
  if (bundle == NULL)
    return true;
  c->there = strcmp(bundle->digest, c->bundle->digest) == 0;
  if (!c->there && c->status == EB_OK)
    check_against(c, &bundle->manifest);
  return !c->there;
}

static eb_status check_seen(const eb_shelf *shelf, const eb_bundle *bundle, eb_error *error)
{
  const eb_manifest *m = &bundle->manifest;
  const eb_json *seen = makers_seen(shelf->makers, m->key.text, m->id);
  int highest = eb_json_get_int(seen, "revision", 0);
  const char *version = eb_json_get_string(seen, "version", "?");
  if (m->revision < highest)
    return eb_fail(error, EB_ROLLBACK, m->id,
                   "this is revision %d, and revision %d was seen here; an older one may bring back what was mended",
                   m->revision, highest);
  if (m->revision == highest && strcmp(eb_json_get_string(seen, "digest", ""), bundle->digest) != 0)
    return version_taken(m->id, version, highest, error);
  return EB_OK;
}

eb_status eb_shelf_check(const eb_shelf *shelf, const eb_bundle *bundle, bool *there, eb_error *error)
{
  check c = {.shelf = shelf, .bundle = bundle};
  eb_status status = eb_shelf_list(shelf, check_one, &c, error);
  if (status == EB_OK && c.there) {
    *there = true;
    return EB_OK;
  }
  if (status == EB_OK)
    status = check_builtin(shelf, &bundle->manifest, error);
  if (status == EB_OK)
    status = check_key(shelf, &bundle->manifest, error);
  if (status == EB_OK)
    status = check_seen(shelf, bundle, error);
  if (status == EB_OK && c.status != EB_OK)
    status = eb_fail(error, c.status, c.error.place, "%s", c.error.message);
  if (status == EB_OK && c.count >= EB_SHELF_MAX)
    status = eb_fail(error, EB_OUT_OF_RANGE, bundle->manifest.id, "%d bundles are on the shelf; remove some first",
                     (int)EB_SHELF_MAX);
  if (status == EB_OK)
    *there = false;
  return status;
}

/* The revision is seen before the bundle stands there: what fails between the two can be done again. */
static eb_status put(eb_shelf *shelf, const eb_bundle *bundle, const char *text, size_t size, eb_error *error)
{
  char path[EB_PATH_SIZE], folder[EB_PATH_SIZE];
  eb_json *changed = eb_json_copy(shelf->makers);
  if (!makers_see(changed, bundle)) {
    eb_json_destroy(changed);
    changed = NULL;
  }
  eb_status status = makers_save(shelf, changed, error);
  if (status == EB_OK)
    status = folder_path(shelf, folder, error);
  if (status == EB_OK)
    status = eb_folder_make(shelf->host, folder, 0755, error);
  if (status == EB_OK)
    status = bundle_path(shelf, bundle->digest, path, error);
  return status == EB_OK ? eb_file_replace(shelf->host, path, text, size, 0644, error) : status;
}

eb_status eb_shelf_add(eb_shelf *shelf, const eb_bundle *bundle, const char *text, size_t size, bool *there,
                       eb_error *error)
{
  assert(shelf->changes);
  bool stands = false;
  eb_status status = eb_shelf_check(shelf, bundle, &stands, error);
  if (status == EB_OK && !stands)
    status = put(shelf, bundle, text, size, error);
  if (status == EB_OK)
    *there = stands;
  return status;
}

/* What a person typed, against what stands there. */
typedef struct search {
  char id[EB_SHELF_ID_SIZE];
  const char *version; /* NULL: any */
  char path[EB_PATH_SIZE], spec[EB_SHELF_SPEC_SIZE];
  int met, of_id;
  eb_text versions; /* of that id */
} search;

static bool search_one(void *context, const char *path, const eb_bundle *bundle, const eb_error *why)
{
  (void)why;
  search *s = context;
  if (bundle == NULL || strcmp(bundle->manifest.id, s->id) != 0)
    return true;
  eb_text_printf(&s->versions, "%s%s", s->of_id > 0 ? ", " : "", bundle->manifest.version);
  s->of_id++;
  if (s->version != NULL && strcmp(s->version, bundle->manifest.version) != 0)
    return true;
  s->met++;
  snprintf(s->path, sizeof s->path, "%s", path);
  snprintf(s->spec, sizeof s->spec, "%s@%s", bundle->manifest.id, bundle->manifest.version);
  return true;
}

static eb_status search_for(const eb_shelf *shelf, const char *typed, search *s, eb_error *error)
{
  size_t size = strcspn(typed, "@");
  s->version = typed[size] == '@' ? typed + size + 1 : NULL;
  if (size < sizeof s->id) {
    snprintf(s->id, sizeof s->id, "%.*s", (int)size, typed);
    eb_status status = eb_shelf_list(shelf, search_one, s, error);
    if (status != EB_OK || s->met > 0)
      return status;
  }
  if (s->of_id > 0)
    return eb_fail(error, EB_NOT_FOUND, typed, "no such version on the shelf; there is %s",
                   eb_text_string(&s->versions));
  return eb_fail(error, EB_NOT_FOUND, typed, "no such procedure on the shelf; evenbore procedures lists them");
}

eb_status eb_shelf_find(const eb_shelf *shelf, const char *spec, eb_bundle *bundle, char *path, eb_error *error)
{
  search s = {.met = 0};
  eb_text_init(&s.versions, shelf->host);
  eb_status status = search_for(shelf, spec, &s, error);
  eb_text_clear(&s.versions);
  if (status == EB_OK)
    status = read_item(shelf, s.path, strrchr(s.path, '/') + 1, bundle, error);
  if (status == EB_OK && path != NULL)
    snprintf(path, EB_PATH_SIZE, "%s", s.path);
  return status;
}

eb_status eb_shelf_remove(eb_shelf *shelf, const char *typed, char spec[EB_SHELF_SPEC_SIZE], eb_error *error)
{
  assert(shelf->changes);
  search s = {.met = 0};
  eb_text_init(&s.versions, shelf->host);
  eb_status status = search_for(shelf, typed, &s, error);
  if (status == EB_OK && s.met > 1)
    status = eb_fail(error, EB_BAD_VALUE, typed, "%d versions of it are on the shelf; name one: %s@ with one of %s",
                     s.met, s.id, eb_text_string(&s.versions));
  eb_text_clear(&s.versions);
  if (status == EB_OK)
    status = eb_file_remove(shelf->host, s.path, error);
  if (status == EB_OK)
    snprintf(spec, EB_SHELF_SPEC_SIZE, "%s", s.spec);
  return status;
}
