#include "builtin.h"

#include "evenbore/script.h"

#include <string.h>

static const eb_source *all(const eb_source *sources, size_t *count)
{
  *count = 0;
  while (sources[*count].name != NULL)
    ++*count;
  return sources;
}

const eb_source *eb_script_builtin_procedures(size_t *count)
{
  return all(builtin_procedures, count);
}

const eb_source *eb_script_builtin_library(size_t *count)
{
  return all(builtin_library, count);
}

const eb_source *eb_script_builtin_procedure(const char *id)
{
  size_t size = strlen(id);
  for (const eb_source *source = builtin_procedures; source->name != NULL; source++)
    if (strncmp(source->name, id, size) == 0 && strcmp(source->name + size, ".lua") == 0)
      return source;
  return NULL;
}
