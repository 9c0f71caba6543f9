/* Journal: the durable record of one session.
 *
 * A file of JSON Lines (UTF-8).  A record is one JSON object whose last member is "h":
 * SHA-256 over the "h" of the record before it (64 characters, none before the first) and the raw bytes of
 * the line before `,"h":`; so no canonical form of JSON is needed.  The chain
 * proves accident, not malice: who rewrites the whole file can rewrite it too.
 * The file begins with the bytes {"kind":"open","format": and EB_JOURNAL_FORMAT: by these a journal is known.
 *
 * Nothing is ever overwritten.  A file comes into being whole: written beside,
 * synced, renamed, its folder synced.  Append writes the whole line, syncs where
 * asked, and only then returns EB_OK; after a failed or short write the file is
 * cut back to its last good end.  After a failed sync the file is not believed
 * any more: what was acknowledged is written to a fresh copy which is synced and renamed
 * over it; where that fails too, the append fails, and every later one tries it again first.
 *
 * Beside PATH stand PATH.lock (the lock; it stays, empty, when the journal is closed),
 * PATH.torn-N (torn ends that were cut) and, after a crash only, PATH.new-N (never read; may be deleted). */
#ifndef EVENBORE_JOURNAL_H
#define EVENBORE_JOURNAL_H

#include "evenbore/digest.h"
#include "evenbore/host.h"
#include "evenbore/json.h"
#include "evenbore/status.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

enum {
  EB_JOURNAL_FORMAT = 1,
  EB_JOURNAL_LINE_MAX = 1 << 20,  /* bytes of one record; the first holds the sources */
  EB_JOURNAL_SIZE_MAX = 256 << 20 /* bytes of a file that is opened */
};

typedef struct eb_journal eb_journal;

/* What was met when a journal was opened. */
typedef struct eb_recovery {
  size_t records;        /* whole, undamaged records from the start */
  size_t torn_bytes;     /* bytes behind the last whole record that were (or, read only, would be) cut */
  char kept[512];        /* where they were copied to: FILE.torn-N; empty where nothing was torn or on reading only */
  size_t damaged_record; /* number of the first damaged record, counted from 1; 0: none */
  char damage[160];      /* what is wrong with it */
} eb_recovery;

/* Creates `path` with one record.  `open` is borrowed; "kind" and "format" are set, as the first members, in the
 * record written.  Takes the lock, kept until eb_journal_close.  EB_EXISTS where there is something
 * at `path`; EB_NOT_FOUND (no such folder), EB_HELD, EB_NO_SPACE, EB_READ_ONLY, EB_IO, EB_OUT_OF_MEMORY, EB_BAD_TEXT
 * (the path is longer than 480 bytes) and what eb_journal_append says of a record: nothing is left at `path`.
 * `host` must outlive the journal. */
eb_status eb_journal_create(const eb_host *host, const char *path, const eb_json *open, eb_journal **journal,
                            eb_error *error);

/* Opens an existing journal for appending: locks it, reads it, checks the chain, makes sure that all of it is on the
 * disk, and cuts a torn tail: the bytes after the last newline, or only zero
 * bytes, are copied to FILE.torn-N, cut, and a record {"kind":"recovered","bytes":N,"kept":...} is appended.
 * A whole record that does not agree with its digest is damage, the last one
 * too, since it may have been acknowledged: EB_DAMAGED with the record's
 * number; nothing is changed.  EB_HELD names the process, machine and time of the
 * holder.  EB_NOT_FOUND, EB_NOT_JOURNAL (a folder, an empty file, other content),
 * EB_TOO_NEW (a later format), EB_IO, EB_READ_ONLY, EB_NO_SPACE (no room to keep the torn tail), EB_OUT_OF_MEMORY,
 * EB_BAD_TEXT (the path is too long).  A symbolic link is EB_NOT_JOURNAL: it would have a lock of its own.
 * *recovery is filled whatever the status, as far as the file was read. */
eb_status eb_journal_open(const eb_host *host, const char *path, eb_journal **journal, eb_recovery *recovery,
                          eb_error *error);

/* Reads a journal without lock and without changing anything, also while
 * another process appends.  With a damaged record EB_OK and the good prefix:
 * recovery->damaged_record tells; EB_DAMAGED where that is the first, so that there is always a record.
 * Otherwise fails as eb_journal_open does.  Appending to it is a caller's error. */
eb_status eb_journal_read(const eb_host *host, const char *path, eb_journal **journal, eb_recovery *recovery,
                          eb_error *error);

/* What the beginning and the end of a journal say, without what stands between. */
typedef struct eb_glance {
  eb_json *first; /* the first record's members, up to one that is left out because it or what stands before is long */
  eb_json *last;  /* the last whole record; NULL: it cannot be believed, or is the first itself */
  size_t torn_bytes;  /* behind the last whole record */
  char damage[160];   /* what is wrong with the last record; empty: nothing, which says nothing of those before it */
  int64_t size_bytes; /* of the file */
} eb_glance;

/* Reads the beginning of a journal up to where `wanted` (members of the first record, "time", or of an object in it,
 * "procedure.id"; ended by NULL) all stand, or to the end of the first record; and its end, whose digest is held
 * against the record before it.  For lists of many: what stands between is not looked at, so that damage there is not
 * seen.  Fails as eb_journal_read does; *glance is cleared by eb_glance_clear after EB_OK. */
eb_status eb_journal_glance(const eb_host *host, const char *path, const char *const *wanted, eb_glance *glance,
                            eb_error *error);
void eb_glance_clear(eb_glance *glance);

/* Appends a record (must not have a member "h"; must have "kind").
 * Without `sync` the record may be lost with the machine's power, not with the process.
 * On EB_OK the record is in the file and, with "h" behind its other members, the last one of the journal's own list: it
 * and all in it stay where they are, owned by the journal.  On failure neither, and it stays the caller's: EB_NO_SPACE
 * (also where the file would grow beyond EB_JOURNAL_SIZE_MAX), EB_READ_ONLY, EB_IO (also where another program changed
 * the file), EB_OUT_OF_MEMORY; EB_BAD_TEXT and EB_BAD_VALUE where it could not be read back (not UTF-8, too long, too
 * deep). The journal can be tried again. */
eb_status eb_journal_append(eb_journal *journal, eb_json *record, bool sync, eb_error *error);

/* Records from the start, index from 0, as they would be read back, with "h"; borrowed until the journal is closed.
 * There is at least the first. */
size_t eb_journal_count(const eb_journal *journal);
const eb_json *eb_journal_record(const eb_journal *journal, size_t index);

/* The digest of the last record: names the journal's whole content. */
const char *eb_journal_digest(const eb_journal *journal);
const char *eb_journal_path(const eb_journal *journal);

void eb_journal_close(eb_journal *journal); /* releases the lock; NULL is allowed */

#ifdef __cplusplus
}
#endif
#endif
