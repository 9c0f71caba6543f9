#include "evenbore/scratch.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

enum { NAME_SIZE = 64, FOLDER = EB_SCRATCH_FILES };
static const int64_t BEGINS_MS = INT64_C(946713600000);

typedef struct kept_file {
  char name[NAME_SIZE]; /* "": removed, or never there */
  char *bytes;
  size_t size, room;
  int handles;
} kept_file;

typedef struct handle {
  bool open, append, locks;
  int file; /* or FOLDER */
  size_t at;
} handle;

struct eb_scratch {
  const eb_host *host;
  eb_host own;
  double minutes;
  kept_file file[EB_SCRATCH_FILES];
  handle handle[EB_SCRATCH_FILES];
};

static void *scratch_allocate(void *context, void *block, size_t size)
{
  const eb_scratch *s = context;
  return s->host->allocate(s->host->context, block, size);
}

static eb_time scratch_now(void *context)
{
  const eb_scratch *s = context;
  return (eb_time){.unix_ms = BEGINS_MS + (int64_t)(s->minutes * 60000)};
}

static int64_t scratch_monotonic_ns(void *context)
{
  const eb_scratch *s = context;
  return s->host->monotonic_ns(s->host->context);
}

/* Nobody else sees these files. */
static void scratch_who(void *context, char who[EB_WHO_SIZE])
{
  (void)context;
  snprintf(who, EB_WHO_SIZE, "0 scratch");
}

static int64_t scratch_processor_ns(void *context)
{
  const eb_scratch *s = context;
  return s->host->processor_ns(s->host->context);
}

static int fail_with(int failure)
{
  errno = failure;
  return -1;
}

static int find(const eb_scratch *s, const char *path)
{
  for (int i = 0; i < EB_SCRATCH_FILES; i++)
    if (path[0] != '\0' && strcmp(s->file[i].name, path) == 0)
      return i;
  return -1;
}

static void forget_unused(eb_scratch *s, int file)
{
  kept_file *f = &s->file[file];
  if (f->name[0] != '\0' || f->handles > 0)
    return;
  s->host->allocate(s->host->context, f->bytes, 0);
  *f = (kept_file){0};
}

static int add(eb_scratch *s, const char *path)
{
  if (strlen(path) >= NAME_SIZE)
    return fail_with(ENAMETOOLONG);
  for (int i = 0; i < EB_SCRATCH_FILES; i++)
    if (s->file[i].name[0] == '\0' && s->file[i].handles == 0) {
      snprintf(s->file[i].name, NAME_SIZE, "%s", path);
      return i;
    }
  return fail_with(ENOSPC);
}

static int open_handle(eb_scratch *s, int file, int flags)
{
  for (int i = 0; i < EB_SCRATCH_FILES; i++)
    if (!s->handle[i].open) {
      s->handle[i] = (handle){.open = true, .append = (flags & O_APPEND) != 0, .file = file};
      if (file != FOLDER)
        s->file[file].handles++;
      return i;
    }
  return fail_with(EMFILE);
}

static int scratch_open(void *context, const char *path, int flags, unsigned mode)
{
  (void)mode;
  eb_scratch *s = context;
  if (strcmp(path, ".") == 0)
    return open_handle(s, FOLDER, flags);
  int file = find(s, path);
  if (file >= 0 && (flags & O_EXCL))
    return fail_with(EEXIST);
  if (file < 0 && !(flags & O_CREAT))
    return fail_with(ENOENT);
  if (file < 0)
    file = add(s, path);
  if (file >= 0 && (flags & O_TRUNC))
    s->file[file].size = 0;
  return file < 0 ? -1 : open_handle(s, file, flags);
}

static int scratch_close(void *context, int number)
{
  eb_scratch *s = context;
  int file = s->handle[number].file;
  s->handle[number] = (handle){0};
  if (file == FOLDER)
    return 0;
  s->file[file].handles--;
  forget_unused(s, file);
  return 0;
}

static ptrdiff_t scratch_read(void *context, int number, void *bytes, size_t size)
{
  eb_scratch *s = context;
  handle *h = &s->handle[number];
  const kept_file *f = &s->file[h->file];
  size_t left = h->at < f->size ? f->size - h->at : 0;
  size_t got = size < left ? size : left;
  if (got > 0)
    memcpy(bytes, f->bytes + h->at, got);
  h->at += got;
  return (ptrdiff_t)got;
}

static bool make_room(eb_scratch *s, kept_file *f, size_t size)
{
  if (size <= f->room)
    return true;
  size_t room = size < 2 * f->room ? 2 * f->room : size + 4096;
  char *bytes = s->host->allocate(s->host->context, f->bytes, room);
  if (bytes == NULL)
    return false;
  f->bytes = bytes;
  f->room = room;
  return true;
}

/* What lies between the old end and the new one is zeros. */
static int set_size(eb_scratch *s, kept_file *f, size_t size)
{
  if (!make_room(s, f, size))
    return fail_with(ENOMEM);
  if (size > f->size)
    memset(f->bytes + f->size, 0, size - f->size);
  f->size = size;
  return 0;
}

static ptrdiff_t scratch_read_at(void *context, int number, int64_t offset, void *bytes, size_t size)
{
  const eb_scratch *s = context;
  const kept_file *f = &s->file[s->handle[number].file];
  size_t left = (uint64_t)offset < f->size ? f->size - (size_t)offset : 0;
  size_t got = size < left ? size : left;
  if (got > 0)
    memcpy(bytes, f->bytes + offset, got);
  return (ptrdiff_t)got;
}

static ptrdiff_t scratch_write(void *context, int number, const void *bytes, size_t size)
{
  eb_scratch *s = context;
  handle *h = &s->handle[number];
  kept_file *f = &s->file[h->file];
  size_t at = h->append ? f->size : h->at;
  if (at + size > f->size && set_size(s, f, at + size) != 0)
    return -1;
  if (size > 0)
    memcpy(f->bytes + at, bytes, size);
  h->at = at + size;
  return (ptrdiff_t)size;
}

static int64_t scratch_seek_end(void *context, int number)
{
  eb_scratch *s = context;
  handle *h = &s->handle[number];
  h->at = s->file[h->file].size;
  return (int64_t)h->at;
}

static int scratch_sync(void *context, int number)
{
  (void)context;
  (void)number;
  return 0;
}

static int scratch_truncate(void *context, int number, int64_t size)
{
  eb_scratch *s = context;
  return set_size(s, &s->file[s->handle[number].file], (size_t)size);
}

static int scratch_remove(void *context, const char *path)
{
  eb_scratch *s = context;
  int file = find(s, path);
  if (file < 0)
    return fail_with(ENOENT);
  s->file[file].name[0] = '\0';
  forget_unused(s, file);
  return 0;
}

static int scratch_rename(void *context, const char *from, const char *to)
{
  eb_scratch *s = context;
  int file = find(s, from);
  if (file < 0)
    return fail_with(ENOENT);
  if (strlen(to) >= NAME_SIZE)
    return fail_with(ENAMETOOLONG);
  if (strcmp(from, to) != 0 && find(s, to) >= 0)
    scratch_remove(s, to);
  snprintf(s->file[file].name, NAME_SIZE, "%s", to);
  return 0;
}

static int scratch_make_folder(void *context, const char *path, unsigned mode)
{
  (void)context;
  (void)path;
  (void)mode;
  return fail_with(ENOSPC);
}

static eb_path_kind scratch_kind(void *context, const char *path)
{
  const eb_scratch *s = context;
  if (strcmp(path, ".") == 0)
    return EB_PATH_FOLDER;
  return find(s, path) < 0 ? EB_PATH_NOTHING : EB_PATH_FILE;
}

static int scratch_look(void *context, int number, eb_file_facts *facts)
{
  const eb_scratch *s = context;
  int file = s->handle[number].file;
  *facts = (eb_file_facts){.kind = file == FOLDER ? EB_PATH_FOLDER : EB_PATH_FILE,
                           .size = file == FOLDER ? 0 : (int64_t)s->file[file].size};
  return 0;
}

static int scratch_lock(void *context, int number)
{
  eb_scratch *s = context;
  for (int i = 0; i < EB_SCRATCH_FILES; i++)
    if (i != number && s->handle[i].locks && s->handle[i].file == s->handle[number].file)
      return fail_with(EWOULDBLOCK);
  s->handle[number].locks = true;
  return 0;
}

static int scratch_list(void *context, const char *folder, int (*each)(void *argument, const char *name),
                        void *argument)
{
  (void)folder;
  eb_scratch *s = context;
  for (int i = 0; i < EB_SCRATCH_FILES; i++)
    if (s->file[i].name[0] != '\0' && each(argument, s->file[i].name) != 0)
      break;
  return 0;
}

static const eb_files scratch_files = {.open = scratch_open,
                                       .close = scratch_close,
                                       .read = scratch_read,
                                       .read_at = scratch_read_at,
                                       .write = scratch_write,
                                       .seek_end = scratch_seek_end,
                                       .sync = scratch_sync,
                                       .truncate = scratch_truncate,
                                       .rename = scratch_rename,
                                       .remove = scratch_remove,
                                       .make_folder = scratch_make_folder,
                                       .kind = scratch_kind,
                                       .look = scratch_look,
                                       .lock = scratch_lock,
                                       .list = scratch_list};

eb_status eb_scratch_create(const eb_host *host, eb_scratch **scratch, eb_error *error)
{
  eb_scratch *s = host->allocate(host->context, NULL, sizeof *s);
  if (s == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  *s = (eb_scratch){.host = host};
  s->own = (eb_host){.context = s,
                     .allocate = scratch_allocate,
                     .now = scratch_now,
                     .monotonic_ns = scratch_monotonic_ns,
                     .processor_ns = scratch_processor_ns,
                     .who = scratch_who,
                     .files = scratch_files};
  *scratch = s;
  return EB_OK;
}

void eb_scratch_destroy(eb_scratch *scratch)
{
  if (scratch == NULL)
    return;
  for (int i = 0; i < EB_SCRATCH_FILES; i++)
    scratch->host->allocate(scratch->host->context, scratch->file[i].bytes, 0);
  scratch->host->allocate(scratch->host->context, scratch, 0);
}

const eb_host *eb_scratch_host(const eb_scratch *scratch)
{
  return &scratch->own;
}

void eb_scratch_set_time(eb_scratch *scratch, double minutes)
{
  scratch->minutes = minutes;
}
