/* Glance: the beginning and the end of a journal, for whoever lists thousands of them. */
#include "line.h"
#include "parts.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>

enum {
  HEAD_SIZE = 4 * 1024, /* what is read at first; the sources of a procedure stand behind what a list wants */
  END_SIZE = 2 * 1024,
  GROWS_BY = 8,
  DEEPEST = 2, /* objects that are cut stand at most so deep */
  DIGEST_END = EB_DIGEST_SIZE - 1 + 2
};

/* Appends `size` bytes from `offset`, fewer at the end of the file. */
static int read_at(const eb_host *host, int file, int64_t offset, size_t size, eb_text *text)
{
  char bytes[HEAD_SIZE];
  while (size > 0) {
    ptrdiff_t got = host->files.read_at(host->context, file, offset, bytes, size < sizeof bytes ? size : sizeof bytes);
    if (got < 0 && errno == EINTR)
      continue;
    if (got <= 0)
      return got < 0 ? errno : 0;
    eb_text_add_bytes(text, bytes, (size_t)got);
    if (text->failed)
      return ENOMEM;
    offset += got;
    size -= (size_t)got;
  }
  return 0;
}

/* Where a walk over the text of a record stands. */
typedef struct walk {
  int depth;
  int arrays; /* nothing inside of one is cut */
  bool in_string, escaped;
} walk;

static void step(walk *w, char c)
{
  if (w->in_string) {
    w->in_string = w->escaped || c != '"';
    w->escaped = !w->escaped && c == '\\';
    return;
  }
  w->in_string = c == '"';
  w->depth += (c == '{') - (c == '}');
  w->arrays += (c == '[') - (c == ']');
}

/* Leaves of the beginning of a record what is whole: up to the last comma between two members, with the braces that
 * are then open closed. */
static void close_cut(eb_text *text)
{
  walk w = {0};
  size_t cut = 0;
  int open = 0;
  for (size_t i = 0; i < text->size; i++) {
    step(&w, text->bytes[i]);
    if (text->bytes[i] == ',' && !w.in_string && w.arrays == 0 && w.depth >= 1 && w.depth <= DEEPEST) {
      cut = i;
      open = w.depth;
    }
  }
  text->size = cut;
  for (; open > 0; open--)
    eb_text_add(text, "}");
}

static bool has(const eb_json *record, const char *wanted)
{
  char key[64];
  size_t size = strcspn(wanted, ".");
  snprintf(key, sizeof key, "%.*s", (int)size, wanted);
  const eb_json *member = eb_json_get(record, key);
  return wanted[size] == '\0' ? member != NULL : eb_json_get(member, wanted + size + 1) != NULL;
}

static bool has_all(const eb_json *record, const char *const *wanted)
{
  for (; *wanted != NULL; wanted++)
    if (!has(record, *wanted))
      return false;
  return true;
}

/* The whole first line's digest is held against its text; of a part of it nothing can be. */
static eb_status read_whole_first(const char *line, size_t size, const char *path, eb_json **first, eb_error *error)
{
  char digest[EB_DIGEST_SIZE] = "";
  eb_error wrong;
  eb_status status = eb_line_read(line, size, digest, first, &wrong);
  if (status == EB_OK)
    return EB_OK;
  return eb_disk_refuse(error, status, path, status == EB_DAMAGED ? "record 1 is damaged: %s" : "%s", wrong.message);
}

/* From what was read so far; *more: it is not enough. */
static eb_status take_first(eb_text *text, const char *path, const char *const *wanted, eb_json **first, bool *more,
                            eb_error *error)
{
  eb_status status = eb_line_begins(eb_text_string(text), text->size, path, error);
  if (status != EB_OK)
    return status;
  const char *newline = memchr(text->bytes, '\n', text->size);
  *more = false;
  if (newline != NULL)
    return read_whole_first(text->bytes, (size_t)(newline - text->bytes), path, first, error);
  close_cut(text);
  eb_json *read = NULL;
  status = eb_json_parse(eb_text_string(text), text->size, &read, NULL);
  if (status == EB_OK && has_all(read, wanted)) {
    *first = read;
    return EB_OK;
  }
  eb_json_destroy(read);
  *more = true;
  return status == EB_OUT_OF_MEMORY ? eb_disk_refuse(error, status, path, "memory ran out") : EB_OK;
}

static eb_status read_first(const eb_host *host, int file, const char *path, const char *const *wanted, eb_json **first,
                            eb_error *error)
{
  eb_text text;
  eb_text_init(&text, host);
  bool more = true;
  eb_status status = EB_OK;
  for (size_t size = HEAD_SIZE; status == EB_OK && more; size *= GROWS_BY) {
    eb_text_reset(&text);
    int failure = read_at(host, file, 0, size, &text);
    bool all = text.size < size;
    if (failure != 0)
      status = eb_disk_fail(error, path, "the file cannot be read", failure);
    else
      status = take_first(&text, path, wanted, first, &more, error);
    if (status == EB_OK && more && (all || size > EB_JOURNAL_LINE_MAX))
      status = eb_disk_refuse(error, EB_NOT_JOURNAL, path, "not a session's journal: its first record is cut off");
  }
  eb_text_clear(&text);
  return status;
}

/* The end of the file from `from` on; false where the last record, or the digest before it, begins before that. */
static bool take_last(const eb_text *text, bool from_start, eb_glance *glance, eb_status *status)
{
  size_t end = text->size;
  while (end > 0 && text->bytes[end - 1] != '\n')
    end--;
  size_t begin = end > 0 ? end - 1 : 0;
  while (begin > 0 && text->bytes[begin - 1] != '\n')
    begin--;
  if (!from_start && begin < DIGEST_END + 1)
    return false;
  glance->torn_bytes = text->size - end;
  if (begin < DIGEST_END + 1) /* the first record is the only one, and was read as such */
    return true;
  char digest[EB_DIGEST_SIZE];
  eb_error wrong;
  memcpy(digest, text->bytes + begin - 1 - DIGEST_END, EB_DIGEST_SIZE - 1);
  digest[EB_DIGEST_SIZE - 1] = '\0';
  eb_status met = eb_line_read(text->bytes + begin, end - 1 - begin, digest, &glance->last, &wrong);
  if (met == EB_DAMAGED)
    snprintf(glance->damage, sizeof glance->damage, "%.*s", (int)sizeof glance->damage - 1, wrong.message);
  else
    *status = met;
  return true;
}

static eb_status read_last(const eb_host *host, int file, const char *path, eb_glance *glance, eb_error *error)
{
  glance->size_bytes = host->files.seek_end(host->context, file);
  eb_text text;
  eb_text_init(&text, host);
  eb_status status = EB_OK;
  int failure = glance->size_bytes < 0 ? errno : 0;
  bool found = false;
  for (int64_t size = END_SIZE; failure == 0 && !found; size *= GROWS_BY) {
    bool from_start = size >= glance->size_bytes;
    int64_t from = from_start ? 0 : glance->size_bytes - size;
    eb_text_reset(&text);
    failure = read_at(host, file, from, (size_t)(glance->size_bytes - from), &text);
    found = failure != 0 || take_last(&text, from_start, glance, &status) || from_start;
  }
  eb_text_clear(&text);
  if (failure != 0)
    return eb_disk_fail(error, path, "the file cannot be read", failure);
  return status == EB_OK ? EB_OK : eb_disk_refuse(error, status, path, "memory ran out");
}

eb_status eb_journal_glance(const eb_host *host, const char *path, const char *const *wanted, eb_glance *glance,
                            eb_error *error)
{
  eb_glance met = {.first = NULL};
  eb_status status = eb_journal_check_kind(host, path, error);
  if (status != EB_OK)
    return status;
  int file = host->files.open(host->context, path, O_RDONLY | O_NONBLOCK, 0);
  if (file < 0)
    return eb_disk_fail(error, path, "the file cannot be opened", errno);
  status = read_first(host, file, path, wanted, &met.first, error);
  if (status == EB_OK)
    status = read_last(host, file, path, &met, error);
  host->files.close(host->context, file);
  if (status == EB_OK)
    *glance = met;
  else
    eb_glance_clear(&met);
  return status;
}

void eb_glance_clear(eb_glance *glance)
{
  eb_json_destroy(glance->first);
  eb_json_destroy(glance->last);
  *glance = (eb_glance){.first = NULL};
}
