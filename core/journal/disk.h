/* Disk: whole reads and writes, the files that appear beside a journal, and what went wrong in words.
 *
 * Private to the room.  A function that returns int gives 0 or the errno of what failed. */
#ifndef EB_JOURNAL_DISK_H
#define EB_JOURNAL_DISK_H

#include "evenbore/host.h"
#include "evenbore/status.h"
#include "evenbore/text.h"

enum {
  EB_DISK_PATH_MAX = 480,                     /* bytes of a journal's path */
  EB_DISK_BESIDE_SIZE = EB_DISK_PATH_MAX + 16 /* that path with ".lock", ".new-N" or ".torn-N" and NUL */
};

/* Fails with `path` as the place, made fit for a screen: its end where it is too long. */
#if defined(__GNUC__)
__attribute__((format(printf, 4, 5)))
#endif
eb_status
eb_disk_refuse(eb_error *error, eb_status status, const char *path, const char *format, ...);

/* The same for a call that failed: what could not be done, the system's reason, what would help. */
eb_status eb_disk_fail(eb_error *error, const char *path, const char *what, int failure);

/* Appends what is left of the file, but at most `limit` bytes, to *text. */
int eb_disk_read(const eb_host *host, int file, size_t limit, eb_text *text);

int eb_disk_write(const eb_host *host, int file, const char *bytes, size_t size);

/* Writes a file of its own beside `path`, under the first free name of PATH.WORD-1, PATH.WORD-2, ..., and
 * syncs it.  *file is open for appending, and the caller's.  On failure nothing is left. */
int eb_disk_write_beside(const eb_host *host, const char *path, const char *word, const char *bytes, size_t size,
                         char beside[EB_DISK_BESIDE_SIZE], int *file);

/* Makes names that came or went in the folder of `path` durable. */
int eb_disk_sync_folder(const eb_host *host, const char *path);

/* Puts a file that was written beside `path` in its place and locks it.  On failure before that it is dropped. */
int eb_disk_put_in_place(const eb_host *host, const char *beside, const char *path, int *file);

/* Closes and removes a file that was written beside. *file becomes -1. */
void eb_disk_drop_beside(const eb_host *host, const char *beside, int *file);

/* Puts the bytes at `path`, whole or not at all, whatever was there before.  *file is -1 before; after it, it is open
 * for appending and locked, or -1 on failure before the new file took its place. */
int eb_disk_put(const eb_host *host, const char *path, const char *bytes, size_t size, int *file);

#endif
