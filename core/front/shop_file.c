#include "shop_file.h"

#include "data.h"
#include "sessions.h"

#include "evenbore/shop.h"
#include "evenbore/text.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char suffix[] = ".json";

static eb_status failed(const char *path, const char *what, int failure, eb_error *error)
{
  eb_status status = failure == EACCES || failure == EPERM || failure == EROFS ? EB_READ_ONLY
                     : failure == ENOSPC || failure == EDQUOT                  ? EB_NO_SPACE
                                                                               : EB_IO;
  char place[EB_PLACE_SIZE];
  eb_json_place(path, 0, place);
  return eb_fail(error, status, place, "this file cannot be %s (%s)", what, strerror(failure));
}

static eb_status read_all(const eb_host *host, int file, const char *path, char *text, size_t *size, eb_error *error)
{
  char place[EB_PLACE_SIZE];
  for (*size = 0;;) {
    ptrdiff_t got = host->files.read(host->context, file, text + *size, EB_SHOP_FILE_MAX + 1 - *size);
    if (got < 0 && errno == EINTR)
      continue;
    if (got < 0)
      return failed(path, "read", errno, error);
    *size += (size_t)got;
    eb_json_place(path, 0, place);
    if (*size > EB_SHOP_FILE_MAX)
      return eb_fail(error, EB_OUT_OF_RANGE, place, "this file is larger than %d KiB; a shop's file is a short text",
                     (int)EB_SHOP_FILE_MAX / 1024);
    if (got == 0)
      return EB_OK;
  }
}

static eb_status read_text(const eb_host *host, const char *path, char *text, size_t *size, eb_error *error)
{
  char place[EB_PLACE_SIZE];
  eb_json_place(path, 0, place);
  eb_path_kind kind = host->files.kind(host->context, path);
  if (kind == EB_PATH_FOLDER || kind == EB_PATH_OTHER)
    return eb_fail(error, EB_BAD_VALUE, place, "this is no file");
  int file = host->files.open(host->context, path, O_RDONLY | O_NONBLOCK, 0);
  if (file < 0 && (errno == ENOENT || errno == ENOTDIR))
    return eb_fail(error, EB_NOT_FOUND, place, "no such file");
  if (file < 0)
    return failed(path, "read", errno, error);
  eb_status status = read_all(host, file, path, text, size, error);
  host->files.close(host->context, file);
  return status;
}

eb_status eb_shop_file_read(const eb_host *host, const char *path, eb_shop_file *file, eb_error *error)
{
  eb_shop_file read = {.host = host};
  read.text = host->allocate(host->context, NULL, EB_SHOP_FILE_MAX + 1);
  if (read.text == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  eb_status status = read_text(host, path, read.text, &read.size, error);
  if (status == EB_OK)
    status = eb_json_parse_lines(path, read.text, read.size, &read.json, error);
  if (status == EB_OK)
    *file = read;
  else
    eb_shop_file_clear(&read);
  return status;
}

void eb_shop_file_clear(eb_shop_file *file)
{
  if (file->host != NULL)
    file->host->allocate(file->host->context, file->text, 0);
  eb_json_destroy(file->json);
  *file = (eb_shop_file){0};
}

/* "." for a path without a folder. */
static void folder_of(const char *path, char folder[EB_DATA_PATH_SIZE])
{
  snprintf(folder, EB_DATA_PATH_SIZE, "%s", path);
  char *slash = strrchr(folder, '/');
  if (slash == NULL)
    snprintf(folder, EB_DATA_PATH_SIZE, ".");
  else
    slash[slash == folder ? 1 : 0] = '\0';
}

static eb_status write_bytes(const eb_host *host, int file, const char *path, const eb_text *text, eb_error *error)
{
  size_t done = 0;
  while (done < text->size) {
    ptrdiff_t wrote = host->files.write(host->context, file, text->bytes + done, text->size - done);
    if (wrote < 0 && errno == EINTR)
      continue;
    if (wrote <= 0)
      return failed(path, "written", wrote == 0 ? EIO : errno, error);
    done += (size_t)wrote;
  }
  return host->files.sync(host->context, file) == 0 ? EB_OK : failed(path, "written", errno, error);
}

static eb_status write_beside(const eb_host *host, const char *path, const eb_text *text, const char *beside,
                              eb_error *error)
{
  int file = host->files.open(host->context, beside, O_WRONLY | O_CREAT | O_TRUNC | O_NOFOLLOW, 0644);
  if (file < 0)
    return failed(path, "written", errno, error);
  eb_status status = write_bytes(host, file, path, text, error);
  if (host->files.close(host->context, file) != 0 && status == EB_OK)
    status = failed(path, "written", errno, error);
  if (status != EB_OK)
    host->files.remove(host->context, beside);
  return status;
}

static void sync_folder(const eb_host *host, const char *folder)
{
  int file = host->files.open(host->context, folder, O_RDONLY | O_DIRECTORY, 0);
  if (file < 0)
    return;
  host->files.sync(host->context, file);
  host->files.close(host->context, file);
}

eb_status eb_shop_file_write(const eb_host *host, const char *path, const eb_json *value, eb_error *error)
{
  char folder[EB_DATA_PATH_SIZE];
  char beside[EB_DATA_PATH_SIZE + 8];
  char place[EB_PLACE_SIZE];
  eb_json_place(path, 0, place);
  folder_of(path, folder);
  snprintf(beside, sizeof beside, "%s.new", path);
  eb_path_kind kind = host->files.kind(host->context, path);
  if (kind == EB_PATH_FOLDER || kind == EB_PATH_OTHER)
    return eb_fail(error, EB_EXISTS, place, "something else than a file lies here, and is left as it is");
  eb_text text;
  eb_text_init(&text, host);
  eb_json_write_lines(&text, value);
  eb_status status = text.failed ? eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory") : EB_OK;
  if (status == EB_OK && text.size > EB_SHOP_FILE_MAX)
    status = eb_fail(error, EB_OUT_OF_RANGE, place, "this would be larger than %d KiB; shorten its notes",
                     (int)EB_SHOP_FILE_MAX / 1024);
  if (status == EB_OK)
    status = eb_sessions_make_folder(host, folder, error);
  if (status == EB_OK)
    status = write_beside(host, path, &text, beside, error);
  if (status == EB_OK && host->files.rename(host->context, beside, path) != 0) {
    status = failed(path, "written", errno, error);
    host->files.remove(host->context, beside);
  }
  if (status == EB_OK)
    sync_folder(host, folder);
  eb_text_clear(&text);
  return status;
}

eb_status eb_shop_file_hold(const eb_host *host, const char *path, int *held, eb_error *error)
{
  char folder[EB_DATA_PATH_SIZE];
  folder_of(path, folder);
  eb_status status = eb_sessions_make_folder(host, folder, error);
  if (status != EB_OK)
    return status;
  int file = host->files.open(host->context, folder, O_RDONLY | O_DIRECTORY, 0);
  if (file < 0)
    return failed(folder, "opened", errno, error);
  if (host->files.lock(host->context, file) == 0) {
    *held = file;
    return EB_OK;
  }
  bool taken = errno == EWOULDBLOCK;
  status = taken ? eb_fail(error, EB_HELD, path, "another evenbore is changing files in this folder; try again")
                 : failed(folder, "locked", errno, error);
  host->files.close(host->context, file);
  return status;
}

void eb_shop_file_release(const eb_host *host, int held)
{
  host->files.close(host->context, held);
}

/* Non-zero ends the walk: memory has run out. */
static int take_name(void *argument, const char *name)
{
  eb_shop_names *list = argument;
  size_t size = strlen(name);
  size_t end = sizeof suffix - 1;
  if (size <= end || size - end >= EB_SHOP_NAME_SIZE || name[0] == '.' || strcmp(name + size - end, suffix) != 0)
    return 0;
  if (list->count == list->room) {
    size_t room = list->room == 0 ? 16 : list->room * 2;
    void *grown = list->host->allocate(list->host->context, list->names, room * sizeof *list->names);
    if (grown == NULL) {
      list->failed = true;
      return -1;
    }
    list->names = grown;
    list->room = room;
  }
  snprintf(list->names[list->count++], EB_SHOP_NAME_SIZE, "%.*s", (int)(size - end), name);
  return 0;
}

static int in_order(const void *a, const void *b)
{
  return strcmp(a, b);
}

eb_status eb_shop_names_list(const eb_host *host, const char *folder, eb_shop_names *names, eb_error *error)
{
  eb_shop_names made = {.host = host};
  eb_status status = EB_OK;
  if (host->files.kind(host->context, folder) == EB_PATH_FOLDER &&
      host->files.list(host->context, folder, take_name, &made) != 0)
    status = failed(folder, "read", errno, error);
  if (made.failed)
    status = eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  if (status != EB_OK) {
    eb_shop_names_clear(&made);
    return status;
  }
  if (made.count > 0)
    qsort(made.names, made.count, sizeof *made.names, in_order);
  *names = made;
  return EB_OK;
}

void eb_shop_names_clear(eb_shop_names *names)
{
  names->host->allocate(names->host->context, names->names, 0);
  *names = (eb_shop_names){.host = names->host};
}
