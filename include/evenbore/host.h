/* Host: what the library needs from the machine it runs on.
 *
 * A host is handed in when an object is created and must outlive it.  Tests
 * replace any of its members to make memory run out, a disk fill up or time
 * pass.  JSON trees are the one exception to `allocate`: the JSON library's
 * allocator is process-wide, so they come from malloc. */
#ifndef EVENBORE_HOST_H
#define EVENBORE_HOST_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* A moment as a clock on the wall shows it. */
typedef struct eb_time {
  int64_t unix_ms;    /* milliseconds since 1970-01-01T00:00:00Z */
  int32_t offset_min; /* local time minus UTC, minutes */
} eb_time;

/* What lies at a path. */
typedef enum eb_path_kind { EB_PATH_NOTHING, EB_PATH_FILE, EB_PATH_FOLDER, EB_PATH_OTHER } eb_path_kind;

/* What is known of an open file. */
typedef struct eb_file_facts {
  eb_path_kind kind; /* a link that was itself opened is EB_PATH_OTHER with `link` */
  bool link;
  bool others; /* group or others may read it or write it */
  int64_t size;
} eb_file_facts;

/* File operations in the manner of POSIX: -1 and errno on failure.  `flags`
 * and `mode` are those of open(2).  `context` is the host's. */
typedef struct eb_files {
  int (*open)(void *context, const char *path, int flags, unsigned mode);
  int (*close)(void *context, int file);
  ptrdiff_t (*read)(void *context, int file, void *bytes, size_t size);
  ptrdiff_t (*read_at)(void *context, int file, int64_t offset, void *bytes, size_t size); /* moves no offset */
  ptrdiff_t (*write)(void *context, int file, const void *bytes, size_t size);
  int64_t (*seek_end)(void *context, int file); /* new offset: the size */
  int (*sync)(void *context, int file);         /* data, and the size; works on folders too */
  int (*truncate)(void *context, int file, int64_t size);
  int (*rename)(void *context, const char *from, const char *to);
  int (*remove)(void *context, const char *path);
  int (*make_folder)(void *context, const char *path, unsigned mode);
  eb_path_kind (*kind)(void *context, const char *path); /* does not follow a last symbolic link for EB_PATH_OTHER */
  int (*look)(void *context, int file, eb_file_facts *facts);
  /* Takes an exclusive advisory lock without waiting; EWOULDBLOCK when another
   * open file description holds it.  Closing the file releases it. */
  int (*lock)(void *context, int file);
  /* Calls `each` with every entry's name but "." and ".." in no particular
   * order, until it returns non-zero. */
  int (*list)(void *context, const char *folder, int (*each)(void *argument, const char *name), void *argument);
} eb_files;

enum { EB_WHO_SIZE = 256 + 24 };

typedef struct eb_host {
  void *context; /* passed to every function below; borrowed */
  /* As realloc(3); size 0 frees and returns NULL. Returned blocks are aligned for any type. */
  void *(*allocate)(void *context, void *block, size_t size);
  eb_time (*now)(void *context);
  int64_t (*monotonic_ns)(void *context);
  int64_t (*processor_ns)(void *context); /* processor time of the calling thread */
  /* This process's number and its machine's name, "4711 bench-two", for whoever finds a file held by it. */
  void (*who)(void *context, char who[EB_WHO_SIZE]);
  eb_files files;
} eb_host;

/* The machine itself. Static, immutable, shared by all threads. */
const eb_host *eb_host_system(void);

/* RFC 3339 with offset and milliseconds, "2026-03-04T05:06:07.089+01:00". */
enum { EB_TIME_TEXT_SIZE = 32 };
void eb_time_text(eb_time time, char text[EB_TIME_TEXT_SIZE]);

#ifdef __cplusplus
}
#endif
#endif
