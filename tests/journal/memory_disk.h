/* A disk in memory, as a host, that knows what would survive a power cut: the bytes that a sync of their file
 * covered, and the names that a sync of their folder covered.  After a failed sync it forgets what it should have
 * written, as systems do: a later sync succeeds without those bytes.
 *
 * One folder, "d"; locks as flock(2) has them. */
#ifndef EB_TESTS_MEMORY_DISK_H
#define EB_TESTS_MEMORY_DISK_H

#include "evenbore/host.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MEMORY_FILES = 128, MEMORY_NAMES = 32, MEMORY_HANDLES = 32, MEMORY_FOLDER = MEMORY_FILES };

typedef struct memory_file {
  char *live, *durable;
  size_t size, durable_size;
  size_t dirty_from; /* bytes from here on are not yet on the disk; at most size */
} memory_file;

typedef struct memory_name {
  char path[64];
  int file;
} memory_name;

typedef struct memory_names {
  memory_name name[MEMORY_NAMES];
  int count;
} memory_names;

typedef struct memory_handle {
  bool used, locked, append;
  int file; /* or MEMORY_FOLDER */
  size_t at;
} memory_handle;

typedef struct memory_disk {
  memory_file file[MEMORY_FILES];
  int file_count;
  memory_names names, durable_names;
  memory_handle handle[MEMORY_HANDLES];
} memory_disk;

/* What a power cut leaves of the bytes that no sync covered, */
typedef enum memory_cut { MEMORY_CUT_NONE, MEMORY_CUT_ALL, MEMORY_CUT_HALF, MEMORY_CUT_ZEROS, MEMORY_CUTS } memory_cut;

/* and of the names: none of the changes, all, or a file put in another's place but no new name and no removal. */
typedef enum memory_name_cut {
  MEMORY_NAMES_NONE,
  MEMORY_NAMES_ALL,
  MEMORY_NAMES_REPLACED,
  MEMORY_NAME_CUTS
} memory_name_cut;

static inline memory_name *memory_find(memory_disk *disk, const char *path)
{
  for (int i = 0; i < disk->names.count; i++)
    if (strcmp(disk->names.name[i].path, path) == 0)
      return &disk->names.name[i];
  return NULL;
}

static inline void memory_forget_name(memory_disk *disk, memory_name *name)
{
  *name = disk->names.name[--disk->names.count];
}

static inline int memory_add(memory_disk *disk, const char *path)
{
  if (disk->file_count == MEMORY_FILES || disk->names.count == MEMORY_NAMES) {
    errno = ENOSPC;
    return -1;
  }
  memory_name *name = &disk->names.name[disk->names.count++];
  snprintf(name->path, sizeof name->path, "%s", path);
  name->file = disk->file_count++;
  return name->file;
}

static inline int memory_open(void *context, const char *path, int flags, unsigned mode)
{
  (void)mode;
  memory_disk *disk = context;
  memory_name *name = memory_find(disk, path);
  int file = name == NULL ? -1 : name->file;
  if (strcmp(path, "d") == 0)
    file = MEMORY_FOLDER;
  else if (name != NULL && (flags & O_EXCL)) {
    errno = EEXIST;
    return -1;
  } else if (name == NULL && !(flags & O_CREAT)) {
    errno = ENOENT;
    return -1;
  } else if (name == NULL)
    file = memory_add(disk, path);
  for (int i = 0; file >= 0 && i < MEMORY_HANDLES; i++)
    if (!disk->handle[i].used) {
      disk->handle[i] = (memory_handle){.used = true, .file = file, .append = (flags & O_APPEND) != 0};
      return i;
    }
  return -1;
}

static inline int memory_close(void *context, int file)
{
  memory_disk *disk = context;
  disk->handle[file] = (memory_handle){0};
  return 0;
}

static inline ptrdiff_t memory_read(void *context, int file, void *bytes, size_t size)
{
  memory_disk *disk = context;
  memory_handle *handle = &disk->handle[file];
  const memory_file *from = &disk->file[handle->file];
  size_t left = handle->at < from->size ? from->size - handle->at : 0;
  size_t got = size < left ? size : left;
  if (got > 0)
    memcpy(bytes, from->live + handle->at, got);
  handle->at += got;
  return (ptrdiff_t)got;
}

static inline ptrdiff_t memory_read_at(void *context, int file, int64_t offset, void *bytes, size_t size)
{
  memory_disk *disk = context;
  const memory_file *from = &disk->file[disk->handle[file].file];
  size_t left = (size_t)offset < from->size ? from->size - (size_t)offset : 0;
  size_t got = size < left ? size : left;
  if (got > 0)
    memcpy(bytes, from->live + offset, got);
  return (ptrdiff_t)got;
}

static inline void memory_resize(char **bytes, size_t *size, size_t wanted)
{
  char *made = realloc(*bytes, wanted + 1);
  if (made == NULL)
    abort();
  if (wanted > *size)
    memset(made + *size, 0, wanted - *size);
  *bytes = made;
  *size = wanted;
}

static inline ptrdiff_t memory_write(void *context, int file, const void *bytes, size_t size)
{
  memory_disk *disk = context;
  memory_handle *handle = &disk->handle[file];
  memory_file *to = &disk->file[handle->file];
  size_t at = handle->append ? to->size : handle->at;
  if (at + size > to->size)
    memory_resize(&to->live, &to->size, at + size);
  memcpy(to->live + at, bytes, size);
  to->dirty_from = at < to->dirty_from ? at : to->dirty_from;
  handle->at = at + size;
  return (ptrdiff_t)size;
}

static inline int64_t memory_seek_end(void *context, int file)
{
  memory_disk *disk = context;
  memory_handle *handle = &disk->handle[file];
  handle->at = disk->file[handle->file].size;
  return (int64_t)handle->at;
}

static inline void memory_write_back(memory_file *file)
{
  memory_resize(&file->durable, &file->durable_size, file->size);
  if (file->size > file->dirty_from)
    memcpy(file->durable + file->dirty_from, file->live + file->dirty_from, file->size - file->dirty_from);
  file->dirty_from = file->size;
}

static inline int memory_sync(void *context, int file)
{
  memory_disk *disk = context;
  if (disk->handle[file].file == MEMORY_FOLDER)
    disk->durable_names = disk->names;
  else
    memory_write_back(&disk->file[disk->handle[file].file]);
  return 0;
}

/* What a sync that fails does: for faulty_host's `lose`. */
static inline void memory_lose(void *context, int file)
{
  memory_disk *disk = context;
  if (disk->handle[file].file != MEMORY_FOLDER)
    disk->file[disk->handle[file].file].dirty_from = disk->file[disk->handle[file].file].size;
}

static inline int memory_truncate(void *context, int file, int64_t size)
{
  memory_disk *disk = context;
  memory_file *met = &disk->file[disk->handle[file].file];
  memory_resize(&met->live, &met->size, (size_t)size);
  met->dirty_from = met->size < met->dirty_from ? met->size : met->dirty_from;
  return 0;
}

static inline int memory_remove(void *context, const char *path)
{
  memory_disk *disk = context;
  memory_name *name = memory_find(disk, path);
  if (name == NULL) {
    errno = ENOENT;
    return -1;
  }
  memory_forget_name(disk, name);
  return 0;
}

static inline int memory_rename(void *context, const char *from, const char *to)
{
  memory_disk *disk = context;
  if (memory_find(disk, from) == NULL) {
    errno = ENOENT;
    return -1;
  }
  if (memory_find(disk, to) != NULL)
    memory_forget_name(disk, memory_find(disk, to));
  memory_name *name = memory_find(disk, from);
  snprintf(name->path, sizeof name->path, "%s", to);
  return 0;
}

static inline int memory_make_folder(void *context, const char *path, unsigned mode)
{
  (void)context;
  (void)path;
  (void)mode;
  errno = ENOSPC;
  return -1;
}

static inline eb_path_kind memory_kind(void *context, const char *path)
{
  memory_disk *disk = context;
  if (strcmp(path, "d") == 0)
    return EB_PATH_FOLDER;
  return memory_find(disk, path) == NULL ? EB_PATH_NOTHING : EB_PATH_FILE;
}

static inline int memory_look(void *context, int file, eb_file_facts *facts)
{
  const memory_disk *disk = context;
  int met = disk->handle[file].file;
  *facts = (eb_file_facts){.kind = met == MEMORY_FOLDER ? EB_PATH_FOLDER : EB_PATH_FILE,
                           .size = met == MEMORY_FOLDER ? 0 : (int64_t)disk->file[met].size};
  return 0;
}

static inline int memory_lock(void *context, int file)
{
  memory_disk *disk = context;
  for (int i = 0; i < MEMORY_HANDLES; i++)
    if (i != file && disk->handle[i].locked && disk->handle[i].file == disk->handle[file].file) {
      errno = EWOULDBLOCK;
      return -1;
    }
  disk->handle[file].locked = true;
  return 0;
}

static inline int memory_list(void *context, const char *folder, int (*each)(void *argument, const char *name),
                              void *argument)
{
  (void)folder;
  memory_disk *disk = context;
  for (int i = 0; i < disk->names.count; i++)
    if (each(argument, disk->names.name[i].path + 2) != 0)
      break;
  return 0;
}

static inline eb_host memory_host(memory_disk *disk)
{
  eb_host host = *eb_host_system();
  host.files = (eb_files){.open = memory_open,
                          .close = memory_close,
                          .read = memory_read,
                          .write = memory_write,
                          .read_at = memory_read_at,
                          .seek_end = memory_seek_end,
                          .sync = memory_sync,
                          .truncate = memory_truncate,
                          .rename = memory_rename,
                          .remove = memory_remove,
                          .make_folder = memory_make_folder,
                          .kind = memory_kind,
                          .look = memory_look,
                          .lock = memory_lock,
                          .list = memory_list};
  host.context = disk;
  return host;
}

/* Puts a file there, durably. */
static inline void memory_put(memory_disk *disk, const char *path, const void *bytes, size_t size)
{
  memory_name *name = memory_find(disk, path);
  int number = name == NULL ? memory_add(disk, path) : name->file;
  memory_file *file = &disk->file[number];
  memory_resize(&file->live, &file->size, size);
  if (size > 0)
    memcpy(file->live, bytes, size);
  file->dirty_from = 0;
  memory_write_back(file);
  disk->durable_names = disk->names;
}

static inline const memory_file *memory_get(memory_disk *disk, const char *path)
{
  const memory_name *name = memory_find(disk, path);
  return name == NULL ? NULL : &disk->file[name->file];
}

/* The process ends: its handles close, and with them its locks. */
static inline void memory_end_process(memory_disk *disk)
{
  memset(disk->handle, 0, sizeof disk->handle);
}

static inline void memory_cut_bytes(memory_file *file, memory_cut cut)
{
  size_t dirty = file->size - file->dirty_from;
  if (cut == MEMORY_CUT_HALF && dirty > 0)
    memory_resize(&file->live, &file->size, file->dirty_from + dirty / 2);
  if (cut == MEMORY_CUT_ZEROS && dirty > 0)
    memset(file->live + file->dirty_from, 0, dirty);
  if (cut != MEMORY_CUT_NONE)
    memory_write_back(file);
  memory_resize(&file->live, &file->size, file->durable_size);
  if (file->size > 0)
    memcpy(file->live, file->durable, file->size);
  file->dirty_from = file->size;
}

static inline void memory_power_cut(memory_disk *disk, memory_cut cut, memory_name_cut names)
{
  memory_end_process(disk);
  for (int i = 0; i < disk->file_count; i++)
    memory_cut_bytes(&disk->file[i], cut);
  for (int i = 0; names == MEMORY_NAMES_REPLACED && i < disk->durable_names.count; i++) {
    memory_name *name = &disk->durable_names.name[i];
    const memory_name *live = memory_find(disk, name->path);
    name->file = live == NULL ? name->file : live->file;
  }
  if (names == MEMORY_NAMES_ALL)
    disk->durable_names = disk->names;
  disk->names = disk->durable_names;
}

static inline void memory_clear(memory_disk *disk)
{
  for (int i = 0; i < disk->file_count; i++) {
    free(disk->file[i].live);
    free(disk->file[i].durable);
  }
  memset(disk, 0, sizeof *disk);
}

#endif
