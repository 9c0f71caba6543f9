/* Parts: what writing and recovery of a journal share.  Private to the room. */
#ifndef EB_JOURNAL_PARTS_H
#define EB_JOURNAL_PARTS_H

#include "disk.h"
#include "evenbore/journal.h"

enum { EB_JOURNAL_NONE = -1 };

struct eb_journal {
  const eb_host *host;
  char path[EB_DISK_PATH_MAX + 1];
  int lock;     /* EB_JOURNAL_NONE where it is only read */
  int file;     /* for appending; EB_JOURNAL_NONE where it is only read */
  eb_text text; /* every acknowledged byte of the file */
  eb_json **records;
  size_t count, room;
  char digest[EB_DIGEST_SIZE];
  bool suspect; /* the file is not to be believed or has an unwanted end: a fresh copy comes before all else */
};

/* An empty journal; EB_BAD_TEXT where the path is too long, EB_OUT_OF_MEMORY. */
eb_status eb_journal_begin(const eb_host *host, const char *path, eb_journal **journal, eb_error *error);

/* Whether a file that may be a journal lies there. */
eb_status eb_journal_check_kind(const eb_host *host, const char *path, eb_error *error);

/* Room for one more record. */
eb_status eb_journal_make_room(eb_journal *journal, eb_error *error);

void eb_journal_cut_text(eb_journal *journal, size_t size);

/* Puts a fresh copy of the text in the file's place; 0 or errno.  Where it took the place and only its name could
 * not be made durable, it is the journal's file all the same. */
int eb_journal_replace(eb_journal *journal);

/* The same with a record more, which is the journal's after EB_OK and stays the caller's after a failure.  `what` says
 * what could not be done. */
eb_status eb_journal_replace_with(eb_journal *journal, eb_json *record, const char *what, eb_error *error);

#endif
