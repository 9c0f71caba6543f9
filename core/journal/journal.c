/* The room journal: the durable record of a session, for the session room that writes it and the report room that
 * reads it.  It knows lines, digests and what a disk can do to them; what a record means is the session's affair.
 *
 * Every acknowledged byte of the file is kept in memory as well.  A fresh copy after a failed sync cannot be taken
 * from the file: the system may already have dropped the pages that it failed to write. */
#include "line.h"
#include "lock.h"
#include "parts.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <string.h>

/* A record on its way: its line stands at the end of the text, and may stand in the file. */
typedef struct staged {
  size_t start; /* of its line in the text */
  char digest[EB_DIGEST_SIZE];
  eb_json *record; /* the journal's from when it is accepted */
} staged;

eb_status eb_journal_begin(const eb_host *host, const char *path, eb_journal **journal, eb_error *error)
{
  size_t size = strlen(path);
  if (size == 0 || size > EB_DISK_PATH_MAX)
    return eb_disk_refuse(error, EB_BAD_TEXT, path, "the path of a journal has 1 to %d bytes; this one has %zu",
                          (int)EB_DISK_PATH_MAX, size);
  eb_journal *made = host->allocate(host->context, NULL, sizeof *made);
  if (made == NULL)
    return eb_disk_refuse(error, EB_OUT_OF_MEMORY, path, "memory ran out");
  *made = (eb_journal){.host = host, .lock = EB_JOURNAL_NONE, .file = EB_JOURNAL_NONE};
  memcpy(made->path, path, size);
  eb_text_init(&made->text, host);
  *journal = made;
  return EB_OK;
}

eb_status eb_journal_make_room(eb_journal *journal, eb_error *error)
{
  if (journal->count < journal->room)
    return EB_OK;
  size_t room = journal->room == 0 ? 64 : journal->room * 2;
  eb_json **records =
      journal->host->allocate(journal->host->context, journal->records, room * sizeof journal->records[0]);
  if (records == NULL)
    return eb_disk_refuse(error, EB_OUT_OF_MEMORY, journal->path, "memory ran out");
  journal->records = records;
  journal->room = room;
  return EB_OK;
}

void eb_journal_cut_text(eb_journal *journal, size_t size)
{
  journal->text.size = size;
  journal->text.failed = false;
  if (journal->text.bytes != NULL)
    journal->text.bytes[size] = '\0';
}

static eb_status stage(eb_journal *journal, eb_json *record, staged *line, eb_error *error)
{
  *line = (staged){.start = journal->text.size, .record = record};
  memcpy(line->digest, journal->digest, sizeof line->digest);
  eb_error wrong;
  eb_status status = eb_journal_make_room(journal, &wrong);
  if (status == EB_OK)
    status = eb_line_add(&journal->text, record, line->digest, &wrong);
  if (status == EB_OK && journal->text.size > EB_JOURNAL_SIZE_MAX) {
    eb_line_take_back(record);
    status = eb_fail(&wrong, EB_NO_SPACE, "", "the journal is full: it may have %d bytes; go on in a new session",
                     (int)EB_JOURNAL_SIZE_MAX);
  }
  if (status == EB_OK)
    return EB_OK;
  eb_journal_cut_text(journal, line->start);
  return eb_disk_refuse(error, status, journal->path, "%s", wrong.message);
}

static void accept(eb_journal *journal, const staged *line)
{
  journal->records[journal->count++] = line->record;
  memcpy(journal->digest, line->digest, sizeof journal->digest);
}

static void drop(eb_journal *journal, const staged *line)
{
  eb_line_take_back(line->record);
  eb_journal_cut_text(journal, line->start);
}

int eb_journal_replace(eb_journal *journal)
{
  int fresh = EB_JOURNAL_NONE;
  int failure = eb_disk_put(journal->host, journal->path, eb_text_string(&journal->text), journal->text.size, &fresh);
  journal->suspect = failure != 0;
  if (fresh == EB_JOURNAL_NONE)
    return failure;
  if (journal->file != EB_JOURNAL_NONE)
    journal->host->files.close(journal->host->context, journal->file);
  journal->file = fresh;
  return failure;
}

eb_status eb_journal_replace_with(eb_journal *journal, eb_json *record, const char *what, eb_error *error)
{
  staged line;
  eb_status status = stage(journal, record, &line, error);
  if (status != EB_OK)
    return status;
  int failure = eb_journal_replace(journal);
  if (failure == 0) {
    accept(journal, &line);
    return EB_OK;
  }
  drop(journal, &line);
  return eb_disk_fail(error, journal->path, what, failure);
}

static void cut_file(eb_journal *journal, size_t size)
{
  if (journal->host->files.truncate(journal->host->context, journal->file, (int64_t)size) != 0)
    journal->suspect = true;
}

/* An editor, a synchronising folder or a person may have deleted, replaced or changed the file meanwhile: a record
 * would then go into a file without a name, or behind foreign bytes.  A deleted one comes back as a fresh copy. */
static eb_status check_file(eb_journal *journal, size_t size, eb_error *error)
{
  const eb_files *files = &journal->host->files;
  int file = files->open(journal->host->context, journal->path, O_RDONLY | O_NOFOLLOW, 0);
  if (file < 0 && errno == ENOENT) {
    journal->suspect = true;
    return EB_OK;
  }
  int64_t met = file < 0 ? -1 : files->seek_end(journal->host->context, file);
  int failure = met < 0 ? errno : 0;
  if (file >= 0)
    files->close(journal->host->context, file);
  if (failure != 0)
    return eb_disk_fail(error, journal->path, "the file cannot be looked at; nothing was appended", failure);
  if ((uint64_t)met != size)
    return eb_disk_refuse(error, EB_IO, journal->path,
                          "another program changed the file: it has %lld bytes where this session wrote %zu; nothing "
                          "was appended",
                          (long long)met, size);
  return EB_OK;
}

/* Where the sync fails, the journal is left suspect with the line in it. */
static eb_status write_line(eb_journal *journal, const staged *line, bool sync, eb_error *error)
{
  eb_status status = check_file(journal, line->start, error);
  if (status != EB_OK || journal->suspect)
    return status;
  const eb_host *host = journal->host;
  int failure = eb_disk_write(host, journal->file, journal->text.bytes + line->start, journal->text.size - line->start);
  if (failure == 0 && sync && host->files.sync(host->context, journal->file) != 0) {
    journal->suspect = true;
    return EB_OK;
  }
  status = failure == 0 ? check_file(journal, journal->text.size, error)
                        : eb_disk_fail(error, journal->path, "the record was not saved", failure);
  if (status != EB_OK)
    cut_file(journal, line->start);
  return status;
}

static eb_status store(eb_journal *journal, const staged *line, bool sync, eb_error *error)
{
  eb_status status = journal->suspect ? EB_OK : write_line(journal, line, sync, error);
  if (status != EB_OK || !journal->suspect)
    return status;
  int failure = eb_journal_replace(journal);
  if (failure == 0)
    return EB_OK;
  cut_file(journal, line->start);
  return eb_disk_fail(error, journal->path, "the record was not saved, in a fresh copy neither", failure);
}

eb_status eb_journal_append(eb_journal *journal, eb_json *record, bool sync, eb_error *error)
{
  assert(journal->file != EB_JOURNAL_NONE && "a journal that was only read");
  assert(eb_json_is_string(eb_json_get(record, "kind")) && eb_json_get(record, "h") == NULL);
  staged line;
  eb_status status = stage(journal, record, &line, error);
  if (status != EB_OK)
    return status;
  status = store(journal, &line, sync, error);
  if (status == EB_OK)
    accept(journal, &line);
  else
    drop(journal, &line);
  return status;
}

static eb_status check_free(const eb_journal *journal, eb_error *error)
{
  if (journal->host->files.kind(journal->host->context, journal->path) == EB_PATH_NOTHING)
    return EB_OK;
  return eb_disk_refuse(error, EB_EXISTS, journal->path, "there is something of this name already; choose another");
}

/* The lock is taken when the record is on the disk: a lock file cannot be removed again (lock.c), and none is to
 * appear beside what is none of ours, or where there is no room for a journal. */
static eb_status put_first(eb_journal *journal, const char *beside, int *file, eb_error *error)
{
  eb_status status = eb_lock_take(journal->host, journal->path, &journal->lock, error);
  if (status == EB_OK)
    status = check_free(journal, error);
  if (status != EB_OK) {
    eb_disk_drop_beside(journal->host, beside, file);
    return status;
  }
  int failure = eb_disk_put_in_place(journal->host, beside, journal->path, file);
  return failure == 0 ? EB_OK : eb_disk_fail(error, journal->path, "the file cannot be created", failure);
}

static eb_status create(eb_journal *journal, eb_json *first, eb_error *error)
{
  staged line;
  char beside[EB_DISK_BESIDE_SIZE];
  eb_status status = check_free(journal, error);
  if (status == EB_OK)
    status = stage(journal, first, &line, error);
  if (status != EB_OK)
    return status;
  int failure = eb_disk_write_beside(journal->host, journal->path, "new", eb_text_string(&journal->text),
                                     journal->text.size, beside, &journal->file);
  status = failure == 0 ? put_first(journal, beside, &journal->file, error)
                        : eb_disk_fail(error, journal->path, "the file cannot be created", failure);
  if (status == EB_OK)
    accept(journal, &line);
  else
    drop(journal, &line);
  return status;
}

eb_status eb_journal_create(const eb_host *host, const char *path, const eb_json *open, eb_journal **journal,
                            eb_error *error)
{
  assert(eb_json_is_object(open) && eb_json_get(open, "h") == NULL);
  eb_journal *made = NULL;
  eb_status status = eb_journal_begin(host, path, &made, error);
  if (made == NULL)
    return status;
  eb_json *first = eb_line_first(open);
  status = first == NULL ? eb_disk_refuse(error, EB_OUT_OF_MEMORY, path, "memory ran out") : create(made, first, error);
  if (status == EB_OK) {
    *journal = made;
    return EB_OK;
  }
  eb_json_destroy(first);
  if (made->file != EB_JOURNAL_NONE) /* in place, but not durably */
    host->files.remove(host->context, path);
  eb_journal_close(made);
  return status;
}

size_t eb_journal_count(const eb_journal *journal)
{
  return journal->count;
}

const eb_json *eb_journal_record(const eb_journal *journal, size_t index)
{
  assert(index < journal->count);
  return journal->records[index];
}

const char *eb_journal_digest(const eb_journal *journal)
{
  return journal->digest;
}
const char *eb_journal_path(const eb_journal *journal)
{
  return journal->path;
}

void eb_journal_close(eb_journal *journal)
{
  if (journal == NULL)
    return;
  const eb_host *host = journal->host;
  if (journal->file != EB_JOURNAL_NONE)
    host->files.close(host->context, journal->file);
  if (journal->lock != EB_JOURNAL_NONE)
    eb_lock_release(host, journal->lock);
  for (size_t i = 0; i < journal->count; i++)
    eb_json_destroy(journal->records[i]);
  host->allocate(host->context, journal->records, 0);
  eb_text_clear(&journal->text);
  host->allocate(host->context, journal, 0);
}
