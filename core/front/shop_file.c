#include "shop_file.h"

#include "evenbore/file.h"
#include "evenbore/shop.h"
#include "evenbore/text.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char suffix[] = ".json";

eb_status eb_shop_file_read(const eb_host *host, const char *path, eb_shop_file *file, eb_error *error)
{
  eb_shop_file read = {.host = host};
  eb_status status = eb_file_read(host, path, EB_SHOP_FILE_MAX, EB_FILE_NAMED, &read.text, &read.size, error);
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

eb_status eb_shop_file_write(const eb_host *host, const char *path, const eb_json *value, eb_error *error)
{
  char folder[EB_PATH_SIZE];
  char place[EB_PLACE_SIZE];
  eb_json_place(path, 0, place);
  eb_path_folder(path, folder);
  eb_text text;
  eb_text_init(&text, host);
  eb_json_write_lines(&text, value);
  eb_status status = text.failed ? eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory") : EB_OK;
  if (status == EB_OK && text.size > EB_SHOP_FILE_MAX)
    status = eb_fail(error, EB_OUT_OF_RANGE, place, "this would be larger than %d KiB; shorten its notes",
                     (int)EB_SHOP_FILE_MAX / 1024);
  if (status == EB_OK)
    status = eb_folder_make(host, folder, 0755, error);
  if (status == EB_OK)
    status = eb_file_replace(host, path, text.bytes, text.size, 0644, error);
  eb_text_clear(&text);
  return status;
}

eb_status eb_shop_file_hold(const eb_host *host, const char *path, int *held, eb_error *error)
{
  char folder[EB_PATH_SIZE];
  eb_path_folder(path, folder);
  eb_status status = eb_folder_make(host, folder, 0755, error);
  return status == EB_OK ? eb_folder_hold(host, folder, held, error) : status;
}

void eb_shop_file_release(const eb_host *host, int held)
{
  eb_folder_release(host, held);
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
    status = eb_fail(error, EB_IO, folder, "this folder cannot be read (%s)", strerror(errno));
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
