/* The layouts of the study, by name. */
#ifndef EVENBORE_STUDY_LAYOUTS_H
#define EVENBORE_STUDY_LAYOUTS_H

#include "evenbore/layout.h"

#include <stdio.h>
#include <string.h>

/* `name` is one of layouts/, or a file where it holds a slash. */
static inline eb_status study_layout_read(const char *name, eb_layout *layout, eb_error *error)
{
  char path[4096], text[65536];
  eb_json *json = NULL;
  bool is_file = strchr(name, '/') != NULL;
  snprintf(path, sizeof path, is_file ? "%s" : EB_LAYOUTS_FOLDER "/%s.json", name);
  FILE *file = fopen(path, "rb");
  if (file == NULL)
    return eb_fail(error, EB_NOT_FOUND, "", "there is no layout %s", path);
  size_t size = fread(text, 1, sizeof text, file);
  fclose(file);
  eb_status status = eb_json_parse(text, size, &json, error);
  if (status == EB_OK)
    status = eb_layout_read(json, path, layout, error);
  eb_json_destroy(json);
  return status;
}

#endif
