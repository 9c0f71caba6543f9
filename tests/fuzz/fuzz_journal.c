/* A session's file as it may come by mail: as it is, or, where it begins with ~, with digests that are made to agree,
 * so that what stands in the records is read too.  It is taken up, and reported on in every form. */
#include "session/line_runner.h"

#include "fuzz.h"

#include "evenbore/digest.h"
#include "evenbore/report.h"
#include "evenbore/scratch.h"

#include <fcntl.h>

static const char path[] = "s.jsonl";

/* The record at hand up to its digest. */
static size_t body_of(const char *line, size_t size)
{
  const char *mark = NULL;
  for (const char *met = line; (met = memmem(met, size - (size_t)(met - line), ",\"h\":", 5)) != NULL; met++)
    mark = met;
  if (mark != NULL)
    return (size_t)(mark - line);
  return size > 0 && line[size - 1] == '}' ? size - 1 : size;
}

static void add_agreeing(eb_text *text, const char *data, size_t size)
{
  char digest[EB_DIGEST_SIZE] = "";
  const char *end = data + size;
  while (data < end) {
    const char *stop = memchr(data, '\n', (size_t)(end - data));
    stop = stop == NULL ? end : stop;
    size_t body = body_of(data, (size_t)(stop - data));
    eb_digest_chain(digest, data, body, digest);
    eb_text_add_bytes(text, data, body);
    eb_text_printf(text, ",\"h\":\"%s\"}\n", digest);
    data = stop + 1;
  }
}

static void put(const eb_host *host, const uint8_t *data, size_t size)
{
  eb_text text;
  eb_text_init(&text, host);
  if (size > 0 && data[0] == '~')
    add_agreeing(&text, (const char *)data + 1, size - 1);
  else
    eb_text_add_bytes(&text, data, size);
  int file = host->files.open(host->context, path, O_CREAT | O_WRONLY | O_EXCL, 0600);
  must(file >= 0);
  must(host->files.write(host->context, file, eb_text_string(&text), text.size) == (ptrdiff_t)text.size);
  host->files.close(host->context, file);
  eb_text_clear(&text);
}

static void report(const eb_host *host)
{
  eb_account account;
  eb_error error = {.status = EB_OK};
  eb_status status = eb_account_read(host, path, &account, &error);
  if (status != EB_OK) {
    must_be_clear(&error, status);
    return;
  }
  for (int form = EB_REPORT_PAGE; form <= EB_REPORT_JSON; form++) {
    eb_report_options options = {.form = (eb_report_form)form};
    eb_text text;
    eb_text_init(&text, host);
    must(eb_report_write(&account, &options, &text, &error) == EB_OK);
    must(eb_utf8_valid(eb_text_string(&text), text.size, NULL));
    must(memchr(eb_text_string(&text), 0x1B, text.size) == NULL);
    must(form != EB_REPORT_PAGE || strstr(eb_text_string(&text), "<script") == NULL);
    eb_text_clear(&text);
  }
  eb_account_clear(&account);
}

/* Once taken up, it is whole. */
static void resume(const eb_host *host)
{
  line_log *log = malloc(sizeof *log);
  log->replies[0] = '\0';
  eb_runner runner = line_runner(log);
  eb_session *session = NULL;
  eb_recovery recovery;
  eb_error error = {.status = EB_OK};
  eb_status status = eb_session_resume(host, path, "test", &runner, &session, &recovery, &error);
  if (status != EB_OK)
    must_be_clear(&error, status);
  eb_session_destroy(session);
  free(log);
  if (status != EB_OK)
    return;
  eb_journal *journal = NULL;
  must(eb_journal_open(host, path, &journal, &recovery, &error) == EB_OK);
  must(recovery.torn_bytes == 0 && recovery.damaged_record == 0);
  eb_journal_close(journal);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  eb_scratch *scratch = NULL;
  must(eb_scratch_create(eb_host_system(), &scratch, NULL) == EB_OK);
  put(eb_scratch_host(scratch), data, size);
  report(eb_scratch_host(scratch));
  resume(eb_scratch_host(scratch));
  eb_scratch_destroy(scratch);
  return 0;
}
