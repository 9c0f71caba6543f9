/* A host that passes everything on to another and lets chosen calls fail, be short, or be the last one.
 * For any test: fill a `faulty`, take faulty_host() of it. */
#ifndef EB_TESTS_FAULTY_HOST_H
#define EB_TESTS_FAULTY_HOST_H

#include "evenbore/host.h"

#include <cjson/cJSON.h>
#include <errno.h>
#include <signal.h>
#include <stdbool.h>
#include <stdlib.h>

typedef enum faulty_call {
  FAULTY_ALLOCATE,
  FAULTY_JSON, /* an allocation of the JSON library, between faulty_json_begin and faulty_json_end */
  FAULTY_OPEN,
  FAULTY_READ,
  FAULTY_WRITE,
  FAULTY_SEEK,
  FAULTY_SYNC,
  FAULTY_TRUNCATE,
  FAULTY_RENAME,
  FAULTY_REMOVE,
  FAULTY_LOCK,
  FAULTY_KIND, /* and close: counted as a file call, never fail */
  FAULTY_LOOK, /* journals look at no open file */
  FAULTY_CALLS
} faulty_call;

typedef enum faulty_way {
  FAULTY_FAILS, /* nothing happens, -1 and `failure` */
  FAULTY_SHORT, /* a read or write of half the bytes that says so */
  FAULTY_TORN   /* a write of half the bytes, then -1 and `failure` */
} faulty_way;

typedef struct faulty {
  const eb_host *inner;
  faulty_call call; /* the kind of call to fail */
  int at;           /* its number, from 1; 0: none fails */
  bool onwards;     /* all later ones of the kind too */
  faulty_way way;
  int failure; /* errno */
  bool second; /* once it failed, every call of the kind `also` fails too */
  faulty_call also;
  /* Told of every sync that fails, so that a disk's model can forget the pages. May be NULL. */
  void (*lose)(void *inner_context, int file);
  int last;  /* number of the last file call that is passed on; 0: no end */
  bool kill; /* behind it the process is killed; otherwise every later one fails with EIO */
  int made[FAULTY_CALLS];
  int files_made;
  bool failed, dead;
} faulty;

static inline bool faulty_hit(faulty *f, faulty_call call)
{
  int number = ++f->made[call];
  bool first = f->at > 0 && call == f->call && (f->onwards ? number >= f->at : number == f->at);
  if (!first && !(f->second && f->failed && call == f->also))
    return false;
  f->failed = true;
  errno = f->failure;
  return true;
}

/* Whether a file call is passed on. */
static inline bool faulty_enter(faulty *f, faulty_call call)
{
  if (f->dead) {
    errno = EIO;
    return false;
  }
  f->files_made++;
  return !faulty_hit(f, call);
}

static inline void faulty_leave(faulty *f)
{
  if (f->last == 0 || f->files_made < f->last || f->dead)
    return;
  if (f->kill)
    raise(SIGKILL);
  f->dead = true;
}

static inline void *faulty_allocate(void *context, void *block, size_t size)
{
  faulty *f = context;
  if (size > 0 && faulty_hit(f, FAULTY_ALLOCATE))
    return NULL;
  return f->inner->allocate(f->inner->context, block, size);
}

static inline eb_time faulty_now(void *context)
{
  faulty *f = context;
  return f->inner->now(f->inner->context);
}

static inline int64_t faulty_monotonic_ns(void *context)
{
  faulty *f = context;
  return f->inner->monotonic_ns(f->inner->context);
}

static inline int64_t faulty_processor_ns(void *context)
{
  faulty *f = context;
  return f->inner->processor_ns(f->inner->context);
}

/* The frame of a call that returns -1 when it fails. */
#define FAULTY_PASS(type, call, expression)                                                                            \
  faulty *f = context;                                                                                                 \
  if (!faulty_enter(f, call))                                                                                          \
    return -1;                                                                                                         \
  type result = f->inner->files.expression;                                                                            \
  int failure = errno;                                                                                                 \
  faulty_leave(f);                                                                                                     \
  errno = failure;                                                                                                     \
  return result

static inline int faulty_open(void *context, const char *path, int flags, unsigned mode)
{
  FAULTY_PASS(int, FAULTY_OPEN, open(f->inner->context, path, flags, mode));
}

static inline int faulty_close(void *context, int file)
{
  FAULTY_PASS(int, FAULTY_KIND, close(f->inner->context, file));
}

static inline ptrdiff_t faulty_read(void *context, int file, void *bytes, size_t size)
{
  faulty *f = context;
  bool passed = faulty_enter(f, FAULTY_READ);
  if (!passed && (f->dead || f->way != FAULTY_SHORT))
    return -1;
  ptrdiff_t got = f->inner->files.read(f->inner->context, file, bytes, passed || size == 1 ? size : size / 2);
  faulty_leave(f);
  return got;
}

static inline ptrdiff_t faulty_write(void *context, int file, const void *bytes, size_t size)
{
  faulty *f = context;
  bool passed = faulty_enter(f, FAULTY_WRITE);
  if (!passed && (f->dead || f->way == FAULTY_FAILS))
    return -1;
  ptrdiff_t put = f->inner->files.write(f->inner->context, file, bytes, passed || size == 1 ? size : size / 2);
  int failure = passed ? errno : f->failure;
  faulty_leave(f);
  errno = failure;
  return !passed && f->way == FAULTY_TORN ? -1 : put;
}

static inline ptrdiff_t faulty_read_at(void *context, int file, int64_t offset, void *bytes, size_t size)
{
  FAULTY_PASS(ptrdiff_t, FAULTY_READ, read_at(f->inner->context, file, offset, bytes, size));
}

static inline int64_t faulty_seek_end(void *context, int file)
{
  FAULTY_PASS(int64_t, FAULTY_SEEK, seek_end(f->inner->context, file));
}

static inline int faulty_sync(void *context, int file)
{
  faulty *f = context;
  if (!faulty_enter(f, FAULTY_SYNC)) {
    int failure = errno;
    if (!f->dead && f->lose != NULL)
      f->lose(f->inner->context, file);
    errno = failure;
    return -1;
  }
  int result = f->inner->files.sync(f->inner->context, file);
  faulty_leave(f);
  return result;
}

static inline int faulty_truncate(void *context, int file, int64_t size)
{
  FAULTY_PASS(int, FAULTY_TRUNCATE, truncate(f->inner->context, file, size));
}

static inline int faulty_rename(void *context, const char *from, const char *to)
{
  FAULTY_PASS(int, FAULTY_RENAME, rename(f->inner->context, from, to));
}

static inline int faulty_remove(void *context, const char *path)
{
  FAULTY_PASS(int, FAULTY_REMOVE, remove(f->inner->context, path));
}

static inline int faulty_make_folder(void *context, const char *path, unsigned mode)
{
  FAULTY_PASS(int, FAULTY_OPEN, make_folder(f->inner->context, path, mode));
}

static inline eb_path_kind faulty_kind(void *context, const char *path)
{
  faulty *f = context;
  return f->inner->files.kind(f->inner->context, path);
}

static inline int faulty_look(void *context, int file, eb_file_facts *facts)
{
  FAULTY_PASS(int, FAULTY_LOOK, look(f->inner->context, file, facts));
}

static inline int faulty_lock(void *context, int file)
{
  FAULTY_PASS(int, FAULTY_LOCK, lock(f->inner->context, file));
}

static inline int faulty_list(void *context, const char *folder, int (*each)(void *argument, const char *name),
                              void *argument)
{
  FAULTY_PASS(int, FAULTY_OPEN, list(f->inner->context, folder, each, argument));
}

static inline eb_host faulty_host(faulty *f)
{
  return (eb_host){.context = f,
                   .allocate = faulty_allocate,
                   .now = faulty_now,
                   .monotonic_ns = faulty_monotonic_ns,
                   .who = eb_host_system()->who,
                   .processor_ns = faulty_processor_ns,
                   .files = {.open = faulty_open,
                             .close = faulty_close,
                             .read = faulty_read,
                             .write = faulty_write,
                             .read_at = faulty_read_at,
                             .seek_end = faulty_seek_end,
                             .sync = faulty_sync,
                             .truncate = faulty_truncate,
                             .rename = faulty_rename,
                             .remove = faulty_remove,
                             .make_folder = faulty_make_folder,
                             .kind = faulty_kind,
                             .look = faulty_look,
                             .lock = faulty_lock,
                             .list = faulty_list}};
}

/* The JSON library's allocator is process-wide and has no context, so the fault that it obeys is too. */
static faulty *faulty_json;

static inline void *faulty_json_allocate(size_t size)
{
  if (faulty_json != NULL && faulty_hit(faulty_json, FAULTY_JSON)) {
    errno = ENOMEM;
    return NULL;
  }
  return malloc(size);
}

static inline void faulty_json_begin(faulty *f)
{
  faulty_json = f;
  cJSON_InitHooks(&(cJSON_Hooks){.malloc_fn = faulty_json_allocate, .free_fn = free});
}

static inline void faulty_json_end(void)
{
  faulty_json = NULL;
  cJSON_InitHooks(NULL);
}

#endif
