#include "disk.h"

#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { BESIDE_MAX = 999, READ_AT_ONCE = 16 * 1024 };

static void show_path(const char *path, char *place, size_t room)
{
  size_t size = strlen(path);
  bool cut = size >= room;
  snprintf(place, room, "%s%s", cut ? "..." : "", cut ? path + (size - (room - 4)) : path);
  size = strlen(place);
  for (size_t at = 0; at < size;) {
    uint32_t code_point = 0;
    size_t length = eb_utf8_decode(place + at, size - at, &code_point);
    bool bad = length == 0 || eb_char_unprintable(code_point);
    length = length == 0 ? 1 : length;
    if (bad)
      memset(place + at, '?', length);
    at += length;
  }
}

eb_status eb_disk_refuse(eb_error *error, eb_status status, const char *path, const char *format, ...)
{
  eb_error made;
  show_path(path, made.place, sizeof made.place);
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(made.message, sizeof made.message, format, arguments);
  va_end(arguments);
  return eb_fail(error, status, made.place, "%s", made.message);
}

static eb_status status_of(int failure)
{
  switch (failure) {
  case ENOMEM: return EB_OUT_OF_MEMORY;
  case ENOENT:
  case ENOTDIR: return EB_NOT_FOUND;
  case ENOSPC:
  case EDQUOT:
  case EFBIG: return EB_NO_SPACE;
  case EROFS:
  case EACCES:
  case EPERM: return EB_READ_ONLY;
  default: return EB_IO;
  }
}

eb_status eb_disk_fail(eb_error *error, const char *path, const char *what, int failure)
{
  eb_status status = status_of(failure);
  const char *help = "";
  if (status == EB_NO_SPACE)
    help = "; make room on the disk and try again";
  else if (status == EB_READ_ONLY)
    help = "; the file and its folder must be writable";
  else if (status == EB_NOT_FOUND)
    help = "; its folder must exist";
  return eb_disk_refuse(error, status, path, "%s: %s%s", what, strerror(failure), help);
}

int eb_disk_read(const eb_host *host, int file, size_t limit, eb_text *text)
{
  char bytes[READ_AT_ONCE];
  while (limit > 0) {
    ptrdiff_t got = host->files.read(host->context, file, bytes, limit < sizeof bytes ? limit : sizeof bytes);
    if (got < 0 && errno == EINTR)
      continue;
    if (got <= 0)
      return got < 0 ? errno : 0;
    eb_text_add_bytes(text, bytes, (size_t)got);
    if (text->failed)
      return ENOMEM;
    limit -= (size_t)got;
  }
  return 0;
}

int eb_disk_write(const eb_host *host, int file, const char *bytes, size_t size)
{
  while (size > 0) {
    ptrdiff_t put = host->files.write(host->context, file, bytes, size);
    if (put < 0 && errno == EINTR)
      continue;
    if (put <= 0)
      return put < 0 ? errno : EIO;
    bytes += put;
    size -= (size_t)put;
  }
  return 0;
}

/* Creates a file that was not there, so that what a crash or a person left behind is neither in the way nor
 * overwritten. */
static int open_beside(const eb_host *host, const char *path, const char *word, char beside[EB_DISK_BESIDE_SIZE],
                       int *file)
{
  for (int number = 1; number <= BESIDE_MAX; number++) {
    snprintf(beside, EB_DISK_BESIDE_SIZE, "%s.%s-%d", path, word, number);
    int made = host->files.open(host->context, beside, O_WRONLY | O_CREAT | O_EXCL | O_APPEND, 0666);
    if (made >= 0) {
      *file = made;
      return 0;
    }
    if (errno != EEXIST)
      return errno;
  }
  return EEXIST;
}

int eb_disk_write_beside(const eb_host *host, const char *path, const char *word, const char *bytes, size_t size,
                         char beside[EB_DISK_BESIDE_SIZE], int *file)
{
  int made = -1;
  int failure = open_beside(host, path, word, beside, &made);
  if (failure != 0)
    return failure;
  failure = eb_disk_write(host, made, bytes, size);
  if (failure == 0 && host->files.sync(host->context, made) != 0)
    failure = errno;
  if (failure != 0) {
    host->files.close(host->context, made);
    host->files.remove(host->context, beside);
    return failure;
  }
  *file = made;
  return 0;
}

int eb_disk_sync_folder(const eb_host *host, const char *path)
{
  char folder[EB_DISK_BESIDE_SIZE];
  snprintf(folder, sizeof folder, "%s", path);
  char *slash = strrchr(folder, '/');
  if (slash == NULL)
    snprintf(folder, sizeof folder, ".");
  else
    slash[slash == folder ? 1 : 0] = '\0';
  int file = host->files.open(host->context, folder, O_RDONLY | O_DIRECTORY, 0);
  if (file < 0)
    return errno;
  int failure = host->files.sync(host->context, file) == 0 ? 0 : errno;
  host->files.close(host->context, file);
  return failure == EINVAL ? 0 : failure; /* from a file system whose folders cannot be synced */
}

void eb_disk_drop_beside(const eb_host *host, const char *beside, int *file)
{
  host->files.close(host->context, *file);
  host->files.remove(host->context, beside);
  *file = -1;
}

int eb_disk_put_in_place(const eb_host *host, const char *beside, const char *path, int *file)
{
  if (host->files.lock(host->context, *file) == 0 && host->files.rename(host->context, beside, path) == 0)
    return eb_disk_sync_folder(host, path);
  int failure = errno;
  eb_disk_drop_beside(host, beside, file);
  return failure;
}

int eb_disk_put(const eb_host *host, const char *path, const char *bytes, size_t size, int *file)
{
  char beside[EB_DISK_BESIDE_SIZE];
  int failure = eb_disk_write_beside(host, path, "new", bytes, size, beside, file);
  return failure == 0 ? eb_disk_put_in_place(host, beside, path, file) : failure;
}
