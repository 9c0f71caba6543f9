#include "data.h"

#include "evenbore/host.h"
#include "evenbore/text.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char letters[] = "abcdefghijklmnopqrstuvwxyz0123456789-";

static const char *variable(const char *name)
{
  const char *value = getenv(name);
  return value == NULL || value[0] == '\0' ? NULL : value;
}

static eb_status too_long(const char *path, eb_error *error)
{
  return eb_fail(error, EB_OUT_OF_RANGE, path, "the path is longer than %d bytes; choose a shorter one with --data",
                 (int)EB_DATA_PATH_SIZE - 1);
}

eb_status eb_data_path(const char *data, const char *below, char path[EB_DATA_PATH_SIZE], eb_error *error)
{
  const char *shared = variable("XDG_DATA_HOME");
  const char *home = variable("HOME");
  int size;
  if (data != NULL)
    size = snprintf(path, EB_DATA_PATH_SIZE, "%s/%s", data, below);
  else if (shared != NULL && shared[0] == '/') /* a relative one is invalid and to be ignored */
    size = snprintf(path, EB_DATA_PATH_SIZE, "%s/evenbore/%s", shared, below);
  else if (home != NULL)
    size = snprintf(path, EB_DATA_PATH_SIZE, "%s/.local/share/evenbore/%s", home, below);
  else
    return eb_fail(error, EB_NOT_FOUND, "", "no folder to keep %s in, since HOME is not set; name one with --data",
                   below);
  return size < EB_DATA_PATH_SIZE ? EB_OK : too_long(data == NULL ? "" : data, error);
}

/* What would be a name and is near to what was typed; empty where nothing is left of it. */
static void make_name(const char *typed, char name[EB_DATA_NAME_SIZE])
{
  size_t used = 0;
  for (const char *c = typed; *c != '\0' && used < EB_DATA_NAME_SIZE - 1; c++) {
    char small = *c >= 'A' && *c <= 'Z' ? (char)(*c - 'A' + 'a') : *c;
    bool fits = strchr(letters, small) != NULL && small != '-';
    if (fits)
      name[used++] = small;
    else if (used > 0 && name[used - 1] != '-')
      name[used++] = '-';
  }
  while (used > 0 && name[used - 1] == '-')
    used--;
  name[used] = '\0';
}

eb_status eb_data_check_name(const char *kind, const char *name, eb_error *error)
{
  size_t size = strlen(name);
  if (size > 0 && size < EB_DATA_NAME_SIZE && strspn(name, letters) == size && name[0] != '-')
    return EB_OK;
  char near[EB_DATA_NAME_SIZE];
  eb_text safe;
  make_name(name, near);
  eb_text_init(&safe, eb_host_system());
  eb_text_add_safe(&safe, name, strnlen(name, 60), false);
  eb_status status =
      eb_fail(error, EB_BAD_VALUE, eb_text_string(&safe),
              "no name for %s %s; it is small letters, digits and hyphens, at most %d, such as %s",
              kind[0] == 'e' ? "an" : "a", kind, (int)EB_DATA_NAME_SIZE - 1, near[0] == '\0' ? "red-v8" : near);
  eb_text_clear(&safe);
  return status;
}

bool eb_data_is_path(const char *typed)
{
  size_t size = strlen(typed);
  return size > 5 && strcmp(typed + size - 5, ".json") == 0;
}

eb_status eb_data_file(const char *data, const char *kind, const char *folder, const char *typed,
                       char path[EB_DATA_PATH_SIZE], eb_error *error)
{
  char below[EB_DATA_NAME_SIZE + 32];
  if (eb_data_is_path(typed)) {
    int size = snprintf(path, EB_DATA_PATH_SIZE, "%s", typed);
    return size < EB_DATA_PATH_SIZE ? EB_OK : too_long("", error);
  }
  eb_status status = eb_data_check_name(kind, typed, error);
  if (status != EB_OK)
    return status;
  snprintf(below, sizeof below, "%s/%s.json", folder, typed);
  return eb_data_path(data, below, path, error);
}
