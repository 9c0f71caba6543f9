/* A folder of its own on the real disk for a test, and whole files in it. */
#ifndef EB_TESTS_JOURNAL_PLACE_H
#define EB_TESTS_JOURNAL_PLACE_H

#include <dirent.h>
#include <limits.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

typedef struct place {
  char folder[300];
  char path[340]; /* FOLDER/session.journal */
} place;

static inline bool place_make(place *where)
{
  snprintf(where->folder, sizeof where->folder, "%s/journal-XXXXXX", EB_BUILD_FOLDER);
  if (mkdtemp(where->folder) == NULL)
    return false;
  snprintf(where->path, sizeof where->path, "%s/session.journal", where->folder);
  return true;
}

/* How many names are in the folder; each is removed where asked. */
static inline int place_names(const place *where, bool remove_them)
{
  int names = 0;
  DIR *stream = opendir(where->folder);
  for (const struct dirent *entry; stream != NULL && (entry = readdir(stream)) != NULL;) {
    if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
      continue;
    names++;
    char path[sizeof where->folder + NAME_MAX + 2];
    snprintf(path, sizeof path, "%s/%s", where->folder, entry->d_name);
    if (remove_them)
      remove(path);
  }
  if (stream != NULL)
    closedir(stream);
  return names;
}

static inline void place_empty(const place *where)
{
  place_names(where, true);
}

static inline void place_remove(const place *where)
{
  place_empty(where);
  rmdir(where->folder);
}

/* "" or a suffix of the session's path. */
static inline const char *place_beside(const place *where, const char *suffix)
{
  static char path[400];
  snprintf(path, sizeof path, "%s%s", where->path, suffix);
  return path;
}

static inline bool place_write(const char *path, const char *mode, const void *bytes, size_t size)
{
  FILE *file = fopen(path, mode);
  if (file == NULL)
    return false;
  bool whole = fwrite(bytes, 1, size, file) == size;
  return fclose(file) == 0 && whole;
}

/* Owned by the caller, ended by NUL; NULL where there is no file. */
static inline char *place_read(const char *path, size_t *size)
{
  FILE *file = fopen(path, "rb");
  if (file == NULL)
    return NULL;
  char *bytes = NULL;
  size_t room = 0;
  *size = 0;
  do {
    room += 65536;
    char *more = realloc(bytes, room + 1);
    if (more == NULL)
      break;
    bytes = more;
    *size += fread(bytes + *size, 1, room - *size, file);
  } while (*size == room);
  fclose(file);
  if (bytes != NULL)
    bytes[*size] = '\0';
  return bytes;
}

#endif
