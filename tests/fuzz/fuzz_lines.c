/* What a front sends: lines of the protocol, and behind a ! what a person types. */
#include "session/line_runner.h"

#include "fuzz.h"

#include "evenbore/scratch.h"

static const char job[] = DECLARE ASK("confirm", "c1", "") NUMBER("n1")
    ASK("choose", "o1", ",\"options\":[{\"id\":\"a\",\"text\":\"A\"},{\"id\":\"b\",\"text\":\"B\"}]")
        ASK("text", "t1", ",\"limit\":40") RUNNING READING("1")
            READING("2") "{\"op\":\"verdict\"}\n"
                         "{\"op\":\"ask\",\"kind\":\"adjust\",\"key\":\"a1\",\"title\":\"Move\",\"text\":\"Do "
                         "it.\",\"at\":\"two.lua:1\","
                         "\"adjuster\":\"screw\",\"move\":0.05}\n" READING("1") STOPPED NUMBER("n2") END;

static void drain(eb_session *session)
{
  const eb_json *message;
  while ((message = eb_session_next(session)) != NULL) {
    char *text = eb_json_text(message);
    must(text != NULL && eb_utf8_valid(text, strlen(text), NULL));
    eb_json_text_free(text);
  }
}

/* A line is taken, or refused with the ask still open: it never ends the session by itself. */
static void give(eb_session *session, const char *line, size_t size)
{
  eb_error error = {.status = EB_OK};
  eb_status status = size > 0 && line[0] == '!' ? eb_session_type(session, line + 1, size - 1, &error)
                                                : eb_session_take(session, line, size, &error);
  if (status != EB_OK)
    must_be_clear(&error, status);
  must(status == EB_OK || status == EB_ENDED);
  must(eb_session_where(session) != EB_SESSION_FAILED);
  drain(session);
}

static void resume(const eb_host *host, const eb_runner *runner, bool ended)
{
  eb_session *session = NULL;
  eb_recovery recovery;
  eb_error error;
  eb_status status = eb_session_resume(host, "s.jsonl", "test", runner, &session, &recovery, &error);
  must(status == (ended ? EB_ENDED : EB_OK));
  if (status != EB_OK)
    return;
  drain(session);
  must(eb_session_where(session) == EB_SESSION_ASKS);
  eb_session_destroy(session);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  eb_scratch *scratch = NULL;
  must(eb_scratch_create(eb_host_system(), &scratch, NULL) == EB_OK);
  const eb_host *host = eb_scratch_host(scratch);
  line_log *log = malloc(sizeof *log);
  eb_runner runner = line_runner(log);
  eb_source main = {.name = "two.lines", .text = job, .size = sizeof job - 1};
  eb_session_options options = {
      .id = "s", .path = "s.jsonl", .program = "test", .runner = &runner, .main = &main, .prompts_max = 100};
  eb_session *session = NULL;
  must(eb_session_start(host, &options, &session, NULL) == EB_OK);
  drain(session);
  const char *at = (const char *)data;
  const char *end = at + size;
  for (int lines = 0; at < end && lines < 60; lines++) {
    const char *stop = memchr(at, '\n', (size_t)(end - at));
    stop = stop == NULL ? end : stop;
    const char *code = eb_json_get_string(eb_session_ask(session), "code", NULL);
    char typed[8];
    snprintf(typed, sizeof typed, "!%s", code == NULL ? "" : code);
    /* The code of a caution cannot be guessed: ! alone is it. */
    if (stop - at == 1 && *at == '!')
      give(session, typed, strlen(typed));
    else
      give(session, at, (size_t)(stop - at));
    at = stop + 1;
  }
  bool ended = eb_session_where(session) == EB_SESSION_ENDED;
  eb_session_destroy(session);
  resume(host, &runner, ended);
  eb_scratch_destroy(scratch);
  free(log);
  return 0;
}
