/* File: small files that are read whole and replaced whole, and the folders that they lie in. */
#ifndef EVENBORE_FILE_H
#define EVENBORE_FILE_H

#include "evenbore/host.h"
#include "evenbore/status.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

enum { EB_PATH_SIZE = 1024 }; /* bytes of a path with its NUL; a longer one is refused with EB_OUT_OF_RANGE */

/* What a reader lets pass. */
typedef enum eb_file_care {
  EB_FILE_NAMED,  /* a person named it: a link is followed */
  EB_FILE_FOUND,  /* met in a folder that anybody may have written: a link is not followed */
  EB_FILE_PRIVATE /* as found, and nobody but its owner may read or write it: else EB_KEY_OPEN */
} eb_file_care;

/* Reads at most `most` bytes.  Only a regular file is ever opened for reading, so that a pipe keeps nobody waiting and
 * a device does nothing; whatever else lies there is EB_BAD_VALUE, and says what it is.  EB_NOT_FOUND; EB_OUT_OF_RANGE:
 * larger; EB_IO; EB_OUT_OF_MEMORY.  *bytes is owned by the caller, given back by the host's allocator; a NUL that
 * *size does not count stands behind them. */
eb_status eb_file_read(const eb_host *host, const char *path, size_t most, eb_file_care care, char **bytes,
                       size_t *size, eb_error *error);

/* Writes PATH.new, a new file whatever lay there, syncs it, renames it over `path` and syncs the folder: who reads
 * meanwhile, or after a power cut, has the old file or the new one.  The caller holds the folder, which is there.
 * `mode` as for open(2).  EB_READ_ONLY, EB_NO_SPACE, EB_IO; EB_EXISTS where something else than a file lies at `path`.
 */
eb_status eb_file_replace(const eb_host *host, const char *path, const void *bytes, size_t size, unsigned mode,
                          eb_error *error);

/* Writes a new file, whole or not at all, and syncs it.  EB_EXISTS where something lies at `path`: it is left as it is;
 * EB_READ_ONLY, EB_NO_SPACE, EB_IO. */
eb_status eb_file_create(const eb_host *host, const char *path, const void *bytes, size_t size, unsigned mode,
                         eb_error *error);

/* Removes a file and syncs its folder. EB_NOT_FOUND, EB_READ_ONLY, EB_IO. */
eb_status eb_file_remove(const eb_host *host, const char *path, eb_error *error);

/* Makes the folder, and those above it, where they are missing. EB_READ_ONLY, EB_NO_SPACE, EB_IO; EB_EXISTS where a
 * file is in the way. */
eb_status eb_folder_make(const eb_host *host, const char *folder, unsigned mode, eb_error *error);

/* Keeps every other process of this program from changing files in a folder, until it is given back.
 * EB_HELD where another one is at it; EB_IO. */
eb_status eb_folder_hold(const eb_host *host, const char *folder, int *held, eb_error *error);
void eb_folder_release(const eb_host *host, int held);

/* "FOLDER/NAME". EB_OUT_OF_RANGE where it is too long. */
eb_status eb_path_join(const char *folder, const char *name, char path[EB_PATH_SIZE], eb_error *error);

/* The folder of a path; "." for one without. */
void eb_path_folder(const char *path, char folder[EB_PATH_SIZE]);

#ifdef __cplusplus
}
#endif
#endif
