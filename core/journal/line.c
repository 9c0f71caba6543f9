#include "line.h"

#include "disk.h"
#include "evenbore/journal.h"

#include <stdlib.h>
#include <string.h>

/* A journal is known by its first bytes alone, so that damage behind them is called damage, and a later format may
 * change everything else. */
static const char beginning[] = "{\"kind\":\"open\",\"format\":";
static const char before_digest[] = ",\"h\":\"";
static const char after_digest[] = "\"}";

enum {
  BEGINNING = sizeof beginning - 1,
  BEFORE = sizeof before_digest - 1,
  DIGITS = EB_DIGEST_SIZE - 1,
  AFTER = sizeof after_digest - 1,
  TAIL = BEFORE + DIGITS + AFTER
};

eb_status eb_line_begins(const char *bytes, size_t size, const char *path, eb_error *error)
{
  const char *wrong = "it does not begin as one does";
  if (size == 0)
    wrong = "it is empty";
  else if (bytes[0] == '\0')
    wrong = "it begins with zero bytes";
  else if (size > BEGINNING && memcmp(bytes, beginning, BEGINNING) == 0 && strchr("123456789", bytes[BEGINNING])) {
    char *end = NULL;
    long format = strtol(bytes + BEGINNING, &end, 10);
    if (format > EB_JOURNAL_FORMAT)
      return eb_disk_refuse(error, EB_TOO_NEW, path,
                            "a later version wrote this journal, in format %ld; this one reads up to format %d", format,
                            (int)EB_JOURNAL_FORMAT);
    if (*end == ',')
      return EB_OK;
  }
  return eb_disk_refuse(error, EB_NOT_JOURNAL, path, "not a session's journal: %s", wrong);
}

eb_json *eb_line_first(const eb_json *open)
{
  eb_json *first = eb_json_object();
  bool whole = eb_json_set_string(first, "kind", "open") && eb_json_set_number(first, "format", EB_JOURNAL_FORMAT);
  for (const eb_json *member = eb_json_first(open); whole && member != NULL; member = eb_json_next(member))
    if (eb_json_get(first, eb_json_key(member)) == NULL)
      whole = eb_json_set(first, eb_json_key(member), eb_json_copy(member));
  if (whole)
    return first;
  eb_json_destroy(first);
  return NULL;
}

static eb_status read_record(const char *line, size_t size, eb_json **record, eb_error *error)
{
  eb_json *read = NULL;
  eb_status status = eb_json_parse(line, size, &read, error);
  if (status != EB_OK)
    return status;
  if (!eb_json_is_string(eb_json_get(read, "kind"))) {
    eb_json_destroy(read);
    return eb_fail(error, EB_BAD_VALUE, "", "a record has no kind");
  }
  *record = read;
  return EB_OK;
}

eb_status eb_line_add(eb_text *text, eb_json *record, char digest[EB_DIGEST_SIZE], eb_error *error)
{
  size_t start = text->size;
  char next[EB_DIGEST_SIZE];
  if (!eb_json_add_text(text, record))
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "memory ran out while a record was written");
  text->size--; /* without the closing brace */
  eb_digest_chain(digest, text->bytes + start, text->size - start, next);
  eb_text_add(text, before_digest);
  eb_text_add(text, next);
  eb_text_add(text, after_digest);
  eb_text_add(text, "\n");
  if (text->failed)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "memory ran out while a record was written");
  size_t size = text->size - start - 1;
  if (size > EB_JOURNAL_LINE_MAX)
    return eb_fail(error, EB_BAD_TEXT, "", "the record has %zu bytes; at most %d are allowed", size,
                   (int)EB_JOURNAL_LINE_MAX);
  if (!eb_json_put_string(record, "h", next))
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "memory ran out while a record was written");
  eb_status status = eb_json_check(record, text->bytes + start, size, error); /* "h" is one of its members */
  if (status == EB_OK)
    memcpy(digest, next, sizeof next);
  else
    eb_line_take_back(record);
  return status;
}

void eb_line_take_back(eb_json *record)
{
  eb_json_remove(record, "h");
}

/* NULL where the line has the form of a record and the digest agrees. */
static const char *check(const char *line, size_t size, char digest[EB_DIGEST_SIZE])
{
  if (size > EB_JOURNAL_LINE_MAX)
    return "it is longer than a record can be";
  if (size > 0 && line[size - 1] == '\r')
    return "its line end was changed to CR LF, as mail and editors do";
  if (size <= TAIL || memcmp(line + size - TAIL, before_digest, BEFORE) != 0 ||
      memcmp(line + size - AFTER, after_digest, AFTER) != 0)
    return "it does not end with its digest";
  char right[EB_DIGEST_SIZE];
  eb_digest_chain(digest, line, size - TAIL, right);
  if (memcmp(line + size - AFTER - DIGITS, right, DIGITS) != 0)
    return "its digest does not agree with its text and the record before it";
  memcpy(digest, right, sizeof right);
  return NULL;
}

eb_status eb_line_read(const char *line, size_t size, char digest[EB_DIGEST_SIZE], eb_json **record, eb_error *error)
{
  char next[EB_DIGEST_SIZE];
  memcpy(next, digest, sizeof next);
  const char *wrong = check(line, size, next);
  if (wrong != NULL)
    return eb_fail(error, EB_DAMAGED, "", "%s", wrong);
  eb_error reason;
  eb_status status = read_record(line, size, record, &reason);
  if (status == EB_OUT_OF_MEMORY)
    return eb_fail(error, status, "", "%s", reason.message);
  if (status != EB_OK)
    return eb_fail(error, EB_DAMAGED, "", "its digest agrees, but it is not a record: %s", reason.message);
  memcpy(digest, next, sizeof next);
  return EB_OK;
}
