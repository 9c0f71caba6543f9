#include "shop_shelf.h"

#include "data.h"

#include "evenbore/file.h"
#include "evenbore/script.h"

#include <stdio.h>
#include <string.h>

static void name_builtins(eb_shop_shelf *shelf)
{
  size_t count;
  const eb_source *sources = eb_script_builtin_procedures(&count);
  shelf->count = count > EB_BUILTINS_MAX ? EB_BUILTINS_MAX : count;
  for (size_t i = 0; i < shelf->count; i++) {
    snprintf(shelf->ids[i], sizeof shelf->ids[i], "%.*s", (int)strcspn(sources[i].name, "."), sources[i].name);
    shelf->words[i] = shelf->ids[i];
  }
}

eb_status eb_shop_shelf_open(const eb_host *host, const char *data, bool change, eb_shop_shelf *shelf, eb_error *error)
{
  char folder[EB_DATA_PATH_SIZE];
  shelf->shelf = NULL;
  name_builtins(shelf);
  eb_status status = eb_data_path(data, ".", folder, error);
  return status == EB_OK ? eb_shelf_open(host, folder, shelf->words, shelf->count, change, &shelf->shelf, error)
                         : status;
}

void eb_shop_shelf_close(eb_shop_shelf *shelf)
{
  eb_shelf_close(shelf->shelf);
  shelf->shelf = NULL;
}

eb_status eb_shop_shelf_read(const eb_run *run, const char *path, char **text, size_t *size, eb_error *error)
{
  return eb_file_read(run->host, path, EB_BUNDLE_MAX, EB_FILE_NAMED, text, size, error);
}
