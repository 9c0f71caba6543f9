/* Files that are whole: a crash or a full disk at any moment leaves the old one or the new one. */
#include "evenbore/file.h"

#include "evenbore/json.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>

static eb_status refuse(const char *path, eb_status status, const char *why, eb_error *error)
{
  char place[EB_PLACE_SIZE];
  eb_json_place(path, 0, place);
  return eb_fail(error, status, place, "%s", why);
}

static eb_status failed(const char *path, const char *what, int failure, eb_error *error)
{
  eb_status status = failure == ENOENT || failure == ENOTDIR                     ? EB_NOT_FOUND
                     : failure == EACCES || failure == EPERM || failure == EROFS ? EB_READ_ONLY
                     : failure == ENOSPC || failure == EDQUOT                    ? EB_NO_SPACE
                                                                                 : EB_IO;
  char place[EB_PLACE_SIZE];
  eb_json_place(path, 0, place);
  return eb_fail(error, status, place, "this file cannot be %s (%s)", what, strerror(failure));
}

static eb_status open_failed(const char *path, int failure, eb_error *error)
{
  if (failure == ENOENT || failure == ENOTDIR)
    return refuse(path, EB_NOT_FOUND, "no such file", error);
  return failed(path, "read", failure, error);
}

static eb_status check_facts(const char *path, const eb_file_facts *facts, eb_file_care care, size_t most,
                             eb_error *error)
{
  if (facts->link)
    return refuse(path, EB_BAD_VALUE, "this is a link to somewhere else, and is not followed", error);
  if (facts->kind == EB_PATH_FOLDER)
    return refuse(path, EB_BAD_VALUE, "this is no file, it is a folder", error);
  if (facts->kind != EB_PATH_FILE)
    return refuse(path, EB_BAD_VALUE, "this is no file, it is a pipe or a device", error);
  if (care == EB_FILE_PRIVATE && facts->others)
    return refuse(path, EB_KEY_OPEN, "others than its owner can read or write this file; take that away (chmod 600)",
                  error);
  if (facts->size > (int64_t)most) {
    char place[EB_PLACE_SIZE];
    eb_json_place(path, 0, place);
    return eb_fail(error, EB_OUT_OF_RANGE, place, "this file is larger than %zu KiB", most / 1024);
  }
  return EB_OK;
}

/* Opened by its name alone first, which does nothing to what lies there. */
static eb_status open_plain(const eb_host *host, const char *path, size_t most, eb_file_care care, int *file,
                            eb_error *error)
{
  int follow = care == EB_FILE_NAMED ? 0 : O_NOFOLLOW;
  const int flags[] = {O_PATH | follow, O_RDONLY | O_NONBLOCK | O_NOCTTY | follow};
  for (int step = 0; step < 2; step++) {
    eb_file_facts facts;
    int opened = host->files.open(host->context, path, flags[step], 0);
    if (opened < 0)
      return open_failed(path, errno, error);
    eb_status status = host->files.look(host->context, opened, &facts) == 0
                           ? check_facts(path, &facts, care, most, error)
                           : failed(path, "read", errno, error);
    if (status == EB_OK && step == 1) {
      *file = opened;
      return EB_OK;
    }
    host->files.close(host->context, opened);
    if (status != EB_OK)
      return status;
  }
  return EB_OK;
}

static eb_status read_bytes(const eb_host *host, int file, const char *path, size_t most, char *bytes, size_t *size,
                            eb_error *error)
{
  for (*size = 0;;) {
    ptrdiff_t got = host->files.read(host->context, file, bytes + *size, most + 1 - *size);
    if (got < 0 && errno == EINTR)
      continue;
    if (got < 0)
      return failed(path, "read", errno, error);
    *size += (size_t)got;
    if (*size > most)
      return refuse(path, EB_OUT_OF_RANGE, "this file grows while it is read, beyond what is taken", error);
    if (got == 0)
      return EB_OK;
  }
}

eb_status eb_file_read(const eb_host *host, const char *path, size_t most, eb_file_care care, char **bytes,
                       size_t *size, eb_error *error)
{
  int file = -1;
  size_t got = 0;
  eb_status status = open_plain(host, path, most, care, &file, error);
  if (status != EB_OK)
    return status;
  char *made = host->allocate(host->context, NULL, most + 2);
  if (made == NULL) {
    host->files.close(host->context, file);
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  }
  status = read_bytes(host, file, path, most, made, &got, error);
  host->files.close(host->context, file);
  if (status != EB_OK) {
    host->allocate(host->context, made, 0);
    return status;
  }
  made[got] = '\0';
  *bytes = made;
  *size = got;
  return EB_OK;
}

static eb_status write_bytes(const eb_host *host, int file, const char *path, const char *bytes, size_t size,
                             eb_error *error)
{
  for (size_t done = 0; done < size;) {
    ptrdiff_t wrote = host->files.write(host->context, file, bytes + done, size - done);
    if (wrote < 0 && errno == EINTR)
      continue;
    if (wrote <= 0)
      return failed(path, "written", wrote == 0 ? EIO : errno, error);
    done += (size_t)wrote;
  }
  return host->files.sync(host->context, file) == 0 ? EB_OK : failed(path, "written", errno, error);
}

/* Writes `made`, for messages `path`, whole or not at all. */
static eb_status write_new(const eb_host *host, const char *path, const char *made, int how, const char *bytes,
                           size_t size, unsigned mode, eb_error *error)
{
  int file = host->files.open(host->context, made, O_WRONLY | O_CREAT | O_NOFOLLOW | how, mode);
  if (file < 0 && how == O_EXCL && errno == EEXIST)
    return refuse(path, EB_EXISTS, "is there already and is not written over; choose another name", error);
  if (file < 0)
    return failed(path, "written", errno, error);
  eb_status status = write_bytes(host, file, path, bytes, size, error);
  if (host->files.close(host->context, file) != 0 && status == EB_OK)
    status = failed(path, "written", errno, error);
  if (status != EB_OK)
    host->files.remove(host->context, made);
  return status;
}

/* Some file systems sync no folder; the file is whole either way, the old one or the new one. */
static void sync_folder(const eb_host *host, const char *path)
{
  char folder[EB_PATH_SIZE];
  eb_path_folder(path, folder);
  int file = host->files.open(host->context, folder, O_RDONLY | O_DIRECTORY, 0);
  if (file < 0)
    return;
  host->files.sync(host->context, file);
  host->files.close(host->context, file);
}

eb_status eb_file_replace(const eb_host *host, const char *path, const void *bytes, size_t size, unsigned mode,
                          eb_error *error)
{
  char beside[EB_PATH_SIZE + 8];
  if (strlen(path) >= EB_PATH_SIZE)
    return refuse(path, EB_OUT_OF_RANGE, "this path is too long", error);
  snprintf(beside, sizeof beside, "%s.new", path);
  eb_path_kind kind = host->files.kind(host->context, path);
  if (kind == EB_PATH_FOLDER || kind == EB_PATH_OTHER)
    return refuse(path, EB_EXISTS, "something else than a file lies here, and is left as it is", error);
  host->files.remove(host->context, beside); /* what another left there has another's mode, or is open elsewhere */
  eb_status status = write_new(host, path, beside, O_EXCL, bytes, size, mode, error);
  if (status == EB_OK && host->files.rename(host->context, beside, path) != 0) {
    status = failed(path, "written", errno, error);
    host->files.remove(host->context, beside);
  }
  if (status == EB_OK)
    sync_folder(host, path);
  return status;
}

eb_status eb_file_create(const eb_host *host, const char *path, const void *bytes, size_t size, unsigned mode,
                         eb_error *error)
{
  eb_status status = write_new(host, path, path, O_EXCL, bytes, size, mode, error);
  if (status == EB_OK)
    sync_folder(host, path);
  return status;
}

eb_status eb_file_remove(const eb_host *host, const char *path, eb_error *error)
{
  if (host->files.remove(host->context, path) != 0)
    return failed(path, "removed", errno, error);
  sync_folder(host, path);
  return EB_OK;
}

static eb_status make_one(const eb_host *host, const char *folder, unsigned mode, eb_error *error)
{
  if (host->files.make_folder(host->context, folder, mode) == 0)
    return EB_OK;
  int failure = errno;
  eb_path_kind kind = host->files.kind(host->context, folder);
  if (kind == EB_PATH_FOLDER)
    return EB_OK;
  if (kind == EB_PATH_FILE)
    return eb_fail(error, EB_EXISTS, folder, "there is a file where a folder is wanted; choose another with --data");
  eb_status status = failure == EACCES || failure == EPERM || failure == EROFS ? EB_READ_ONLY
                     : failure == ENOSPC || failure == EDQUOT                  ? EB_NO_SPACE
                                                                               : EB_IO;
  return eb_fail(error, status, folder, "this folder cannot be made (%s); choose another with --data",
                 strerror(failure));
}

eb_status eb_folder_make(const eb_host *host, const char *folder, unsigned mode, eb_error *error)
{
  char made[EB_PATH_SIZE];
  if (strlen(folder) >= sizeof made)
    return refuse(folder, EB_OUT_OF_RANGE, "this path is too long", error);
  for (size_t i = 1; i <= strlen(folder); i++) {
    if (folder[i] != '/' && folder[i] != '\0')
      continue;
    memcpy(made, folder, i);
    made[i] = '\0';
    if (host->files.kind(host->context, made) == EB_PATH_FOLDER)
      continue;
    eb_status status = make_one(host, made, mode, error);
    if (status != EB_OK)
      return status;
  }
  return EB_OK;
}

eb_status eb_folder_hold(const eb_host *host, const char *folder, int *held, eb_error *error)
{
  int file = host->files.open(host->context, folder, O_RDONLY | O_DIRECTORY, 0);
  if (file < 0)
    return failed(folder, "opened", errno, error);
  if (host->files.lock(host->context, file) == 0) {
    *held = file;
    return EB_OK;
  }
  eb_status status =
      errno == EWOULDBLOCK
          ? refuse(folder, EB_HELD, "another evenbore is changing files in this folder; try again", error)
          : failed(folder, "locked", errno, error);
  host->files.close(host->context, file);
  return status;
}

void eb_folder_release(const eb_host *host, int held)
{
  host->files.close(host->context, held);
}

eb_status eb_path_join(const char *folder, const char *name, char path[EB_PATH_SIZE], eb_error *error)
{
  int size = snprintf(path, EB_PATH_SIZE, "%s/%s", folder, name);
  return size >= 0 && size < EB_PATH_SIZE ? EB_OK : refuse(folder, EB_OUT_OF_RANGE, "this path is too long", error);
}

void eb_path_folder(const char *path, char folder[EB_PATH_SIZE])
{
  snprintf(folder, EB_PATH_SIZE, "%s", path);
  char *slash = strrchr(folder, '/');
  if (slash == NULL)
    snprintf(folder, EB_PATH_SIZE, ".");
  else
    slash[slash == folder ? 1 : 0] = '\0';
}
