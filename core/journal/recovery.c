/* Recovery: reading a journal again, what is wrong with it, and the torn end that a crash leaves. */
#include "line.h"
#include "lock.h"
#include "parts.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>

enum { PEEK_SIZE = 64 };

eb_status eb_journal_check_kind(const eb_host *host, const char *path, eb_error *error)
{
  switch (host->files.kind(host->context, path)) {
  case EB_PATH_FILE: return EB_OK;
  case EB_PATH_NOTHING: return eb_disk_refuse(error, EB_NOT_FOUND, path, "there is no such file");
  case EB_PATH_FOLDER: return eb_disk_refuse(error, EB_NOT_JOURNAL, path, "not a session's journal: it is a folder");
  case EB_PATH_OTHER: break;
  }
  return eb_disk_refuse(error, EB_NOT_JOURNAL, path, "not a session's journal: it is no regular file");
}

/* So that no lock file appears beside what is none of ours. */
static eb_status peek(const eb_host *host, const char *path, eb_error *error)
{
  int file = host->files.open(host->context, path, O_RDONLY, 0);
  if (file < 0)
    return eb_disk_fail(error, path, "the file cannot be opened", errno);
  eb_text text;
  eb_text_init(&text, host);
  int failure = eb_disk_read(host, file, PEEK_SIZE, &text);
  host->files.close(host->context, file);
  eb_status status = failure == 0 ? eb_line_begins(eb_text_string(&text), text.size, path, error)
                                  : eb_disk_fail(error, path, "the file cannot be read", failure);
  eb_text_clear(&text);
  return status;
}

static eb_status open_held(eb_journal *journal, eb_error *error)
{
  const eb_host *host = journal->host;
  journal->file = host->files.open(host->context, journal->path, O_RDWR | O_APPEND | O_NOFOLLOW, 0);
  if (journal->file < 0 && errno == ELOOP) /* its lock would not be that of the file it leads to */
    return eb_disk_refuse(error, EB_NOT_JOURNAL, journal->path,
                          "not a session's journal but a link to another file; name that file");
  if (journal->file < 0)
    return eb_disk_fail(error, journal->path, "the file cannot be opened for writing", errno);
  /* Held by its own lock as well: a person may delete a lock file that seems left over, or reach the file by
   * another name. */
  if (host->files.lock(host->context, journal->file) == 0)
    return EB_OK;
  if (errno == EWOULDBLOCK)
    return eb_disk_refuse(error, EB_HELD, journal->path, "held by another process; close that one first");
  return eb_disk_fail(error, journal->path, "the file cannot be locked", errno);
}

static eb_status say_damage(const eb_journal *journal, const eb_error *wrong, eb_recovery *recovery, eb_error *error)
{
  recovery->damaged_record = journal->count + 1;
  snprintf(recovery->damage, sizeof recovery->damage, "%.*s", (int)sizeof recovery->damage - 1, wrong->message);
  return eb_disk_refuse(error, EB_DAMAGED, journal->path,
                        "record %zu is damaged: %s; nothing was changed, and %zu good records stand before it",
                        recovery->damaged_record, wrong->message, journal->count);
}

static eb_status read_lines(eb_journal *journal, eb_recovery *recovery, eb_error *error)
{
  const char *line = journal->text.bytes, *end = line + journal->text.size, *newline;
  eb_error wrong;
  eb_status status = EB_OK;
  while (status == EB_OK && (newline = memchr(line, '\n', (size_t)(end - line))) != NULL) {
    eb_json *record = NULL;
    status = eb_journal_make_room(journal, &wrong);
    if (status == EB_OK)
      status = eb_line_read(line, (size_t)(newline - line), journal->digest, &record, &wrong);
    if (status == EB_OK) {
      journal->records[journal->count++] = record;
      line = newline + 1;
    }
  }
  recovery->records = journal->count;
  if (status == EB_DAMAGED)
    return say_damage(journal, &wrong, recovery, error);
  if (status != EB_OK)
    return eb_disk_refuse(error, status, journal->path, "%s", wrong.message);
  if (journal->count == 0)
    return eb_disk_refuse(error, EB_NOT_JOURNAL, journal->path, "not a session's journal: its first record is cut off");
  recovery->torn_bytes = (size_t)(end - line);
  return EB_OK;
}

static eb_status load(eb_journal *journal, int file, eb_recovery *recovery, eb_error *error)
{
  int failure = eb_disk_read(journal->host, file, (size_t)EB_JOURNAL_SIZE_MAX + 1, &journal->text);
  if (failure != 0)
    return eb_disk_fail(error, journal->path, "the file cannot be read", failure);
  if (journal->text.size > EB_JOURNAL_SIZE_MAX)
    return eb_disk_refuse(error, EB_NOT_JOURNAL, journal->path,
                          "not a session's journal: it is larger than the %d bytes that one may have",
                          (int)EB_JOURNAL_SIZE_MAX);
  eb_status status = eb_line_begins(eb_text_string(&journal->text), journal->text.size, journal->path, error);
  return status == EB_OK ? read_lines(journal, recovery, error) : status;
}

static eb_json *recovered_record(const eb_host *host, const eb_recovery *recovery)
{
  const char *slash = strrchr(recovery->kept, '/');
  const char *name = slash == NULL ? recovery->kept : slash + 1;
  eb_text shown;
  eb_text_init(&shown, host);
  eb_text_add_safe(&shown, name, strlen(name), false);
  eb_json *record = eb_json_object();
  bool whole = !shown.failed && eb_json_set_string(record, "kind", "recovered") &&
               eb_json_set_number(record, "bytes", (double)recovery->torn_bytes) &&
               eb_json_set_string(record, "kept", eb_text_string(&shown));
  eb_text_clear(&shown);
  if (whole)
    return record;
  eb_json_destroy(record);
  return NULL;
}

/* By a fresh copy and not by cutting and appending: so the cut and its record are there together or not at all. */
static eb_status cut_torn(eb_journal *journal, const eb_recovery *recovery, eb_error *error)
{
  eb_json *record = recovered_record(journal->host, recovery);
  if (record == NULL)
    return eb_disk_refuse(error, EB_OUT_OF_MEMORY, journal->path, "memory ran out");
  eb_journal_cut_text(journal, journal->text.size - recovery->torn_bytes);
  eb_status status = eb_journal_replace_with(journal, record, "the torn end cannot be cut", error);
  if (status != EB_OK)
    eb_json_destroy(record);
  return status;
}

/* Copies the torn end aside, durably. */
static int keep_torn(eb_journal *journal, eb_recovery *recovery)
{
  const eb_host *host = journal->host;
  const char *torn = journal->text.bytes + journal->text.size - recovery->torn_bytes;
  int file = EB_JOURNAL_NONE;
  int failure = eb_disk_write_beside(host, journal->path, "torn", torn, recovery->torn_bytes, recovery->kept, &file);
  if (failure == 0) {
    host->files.close(host->context, file);
    failure = eb_disk_sync_folder(host, journal->path);
    if (failure != 0)
      host->files.remove(host->context, recovery->kept);
  }
  if (failure != 0)
    recovery->kept[0] = '\0';
  return failure;
}

static eb_status recover(eb_journal *journal, eb_recovery *recovery, eb_error *error)
{
  int failure = keep_torn(journal, recovery);
  if (failure != 0)
    return eb_disk_fail(error, journal->path, "the torn end cannot be kept aside", failure);
  int before = journal->file;
  eb_status status = cut_torn(journal, recovery, error);
  if (status != EB_OK && journal->file == before) { /* the file still has its torn end */
    journal->host->files.remove(journal->host->context, recovery->kept);
    recovery->kept[0] = '\0';
  }
  return status;
}

/* What a process that died wrote without a sync is read like the rest and will be acted upon, and it may have died
 * between putting a copy in place and making its name durable. */
static eb_status settle(eb_journal *journal, eb_recovery *recovery, eb_error *error)
{
  if (recovery->torn_bytes > 0)
    return recover(journal, recovery, error);
  bool synced = journal->host->files.sync(journal->host->context, journal->file) == 0;
  int failure = synced ? eb_disk_sync_folder(journal->host, journal->path) : eb_journal_replace(journal);
  return failure == 0 ? EB_OK : eb_disk_fail(error, journal->path, "what was read is not safe on the disk", failure);
}

eb_status eb_journal_open(const eb_host *host, const char *path, eb_journal **journal, eb_recovery *recovery,
                          eb_error *error)
{
  *recovery = (eb_recovery){0};
  eb_journal *made = NULL;
  eb_status status = eb_journal_begin(host, path, &made, error);
  if (made == NULL)
    return status;
  status = eb_journal_check_kind(host, path, error);
  if (status == EB_OK)
    status = peek(host, path, error);
  if (status == EB_OK)
    status = eb_lock_take(host, path, &made->lock, error);
  if (status == EB_OK)
    status = open_held(made, error);
  if (status == EB_OK)
    status = load(made, made->file, recovery, error);
  if (status == EB_OK)
    status = settle(made, recovery, error);
  if (status == EB_OK)
    *journal = made;
  else
    eb_journal_close(made);
  return status;
}

static eb_status load_once(eb_journal *journal, eb_recovery *recovery, eb_error *error)
{
  const eb_host *host = journal->host;
  eb_status status = eb_journal_check_kind(host, journal->path, error);
  if (status != EB_OK)
    return status;
  int file = host->files.open(host->context, journal->path, O_RDONLY, 0);
  if (file < 0)
    return eb_disk_fail(error, journal->path, "the file cannot be opened", errno);
  status = load(journal, file, recovery, error);
  host->files.close(host->context, file);
  eb_text_clear(&journal->text); /* nothing will be appended */
  return status;
}

eb_status eb_journal_read(const eb_host *host, const char *path, eb_journal **journal, eb_recovery *recovery,
                          eb_error *error)
{
  *recovery = (eb_recovery){0};
  eb_journal *made = NULL;
  eb_status status = eb_journal_begin(host, path, &made, error);
  if (made == NULL)
    return status;
  eb_error wrong;
  status = load_once(made, recovery, &wrong);
  if (status == EB_OK || (status == EB_DAMAGED && made->count > 0)) {
    *journal = made;
    return EB_OK;
  }
  eb_journal_close(made);
  return eb_fail(error, status, wrong.place, "%s", wrong.message);
}
