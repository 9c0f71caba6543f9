#include "prepared.h"

#include "runner.h"
#include "source.h"

#include <string.h>
#include <sys/mman.h>

enum {
  OVERHEAD = 2,                /* heads and rounding of the smallest blocks, as a multiple of what Lua may hold */
  BESIDE_LUA_BYTES = 12 << 20, /* sources, a reply and the tree of a request of 32 768 members */
};

static void *allocate(void *context, void *block, size_t size)
{
  return arena_allocate(context, block, size);
}

void *prepared_pages(size_t size)
{
  void *pages = mmap(NULL, size, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS | MAP_NORESERVE, -1, 0);
  return pages == MAP_FAILED ? NULL : pages;
}

eb_host prepared_host(arena *memory)
{
  eb_host host = *eb_host_system();
  host.context = memory;
  host.allocate = allocate;
  host.files = (eb_files){0};
  return host;
}

bool prepared_take(prepared *made, const eb_script_limits *limits)
{
  size_t size = (limits->memory * OVERHEAD + BESIDE_LUA_BYTES) / 4096 * 4096;
  void *pages = prepared_pages(size);
  if (pages == NULL)
    return false;
  *made = (prepared){.pages = pages, .size = size, .host = prepared_host(&made->memory)};
  arena_init(&made->memory, pages, size);
  return true;
}

eb_status prepared_make(prepared *made, const eb_script_limits *limits, eb_error *error)
{
  size_t count;
  const eb_source *library = eb_script_builtin_library(&count);
  if (!prepared_take(made, limits))
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "there is no memory to run a procedure");
  eb_status status = runner_prepare(&made->host, limits, library, count, &made->machine, error);
  if (status != EB_OK)
    prepared_clear(made);
  return status;
}

/* What lies in the pages goes with them. */
void prepared_clear(prepared *made)
{
  if (made->pages != NULL)
    munmap(made->pages, made->size);
  *made = (prepared){0};
}

bool prepared_fits(const prepared *made, const eb_source *library, size_t library_count)
{
  for (size_t i = 0; i < made->machine->library_count; i++) {
    const eb_source *has = &made->machine->library[i];
    size_t k = 0;
    while (k < library_count && strcmp(library[k].name, has->name) != 0)
      k++;
    if (k == library_count || library[k].size != has->size || memcmp(library[k].text, has->text, has->size) != 0)
      return false;
  }
  return true;
}
