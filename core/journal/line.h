/* Line: one record as it stands in the file, and the chain of digests.  Private to the room. */
#ifndef EB_JOURNAL_LINE_H
#define EB_JOURNAL_LINE_H

#include "evenbore/digest.h"
#include "evenbore/json.h"
#include "evenbore/text.h"

/* Whether bytes (ended by NUL) begin as a journal does: EB_NOT_JOURNAL or EB_TOO_NEW with `path` as the place. */
eb_status eb_line_begins(const char *bytes, size_t size, const char *path, eb_error *error);

/* The first record: what `open` says, with kind and format put first.  Owned by the caller; NULL when memory
 * runs out. */
eb_json *eb_line_first(const eb_json *open);

/* Appends the record's line to *text, moves *digest on, and makes the record what the line would be read as: it gets
 * its member "h", which eb_line_take_back removes again.  What could not be read back is refused here (EB_BAD_TEXT,
 * EB_BAD_VALUE) and not found as damage later.
 * On failure bytes may have been added to *text; record and digest are as they were. */
eb_status eb_line_add(eb_text *text, eb_json *record, char digest[EB_DIGEST_SIZE], eb_error *error);
void eb_line_take_back(eb_json *record);

/* Reads a line of the file, given without its newline, that should follow the record with *digest, and moves
 * *digest on.  *record is owned by the caller.  EB_DAMAGED with what is wrong, EB_OUT_OF_MEMORY. */
eb_status eb_line_read(const char *line, size_t size, char digest[EB_DIGEST_SIZE], eb_json **record, eb_error *error);

#endif
