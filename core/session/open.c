/* The first record: everything that a session needs to be run again, with its sources. */
#include "private.h"

#include <string.h>

static eb_source source_of(const eb_json *file)
{
  const char *text = eb_json_get_string(file, "source", "");
  return (eb_source){.name = eb_json_get_string(file, "name", "?"), .text = text, .size = strlen(text)};
}

static eb_status start_from_journal(eb_session *s, eb_error *error)
{
  const eb_json *open = eb_journal_record(s->journal, 0);
  eb_source library[EB_PROCEDURE_FILES_MAX];
  size_t count = 0;
  const eb_json *file = eb_json_first(eb_json_get(open, "library"));
  for (; file != NULL; file = eb_json_next(file)) {
    if (count == EB_PROCEDURE_FILES_MAX)
      return eb_fail(error, EB_DAMAGED, "record 1", "more than %d library files; not a session of this program",
                     (int)EB_PROCEDURE_FILES_MAX);
    library[count++] = source_of(file);
  }
  eb_source main = source_of(eb_json_get(open, "procedure"));
  return s->runner.start(s->runner.context, s->host, &main, library, count, &s->procedure, error);
}

eb_status session_start_procedure(eb_session *s, eb_error *error)
{
  eb_status status;
  if (s->journal == NULL)
    status = s->runner.start(s->runner.context, s->host, s->options.main, s->options.library, s->options.library_count,
                             &s->procedure, error);
  else
    status = start_from_journal(s, error);
  s->runs = status == EB_OK;
  return status;
}

static eb_json *file_json(const eb_source *source)
{
  char digest[EB_DIGEST_SIZE];
  if (source->digest == NULL)
    eb_digest(source->text, source->size, digest);
  eb_json *file = eb_json_object();
  if (eb_json_set_string(file, "name", source->name) &&
      eb_json_set_string(file, "digest", source->digest == NULL ? digest : source->digest) &&
      eb_json_set_string(file, "source", source->text))
    return file;
  eb_json_destroy(file);
  return NULL;
}

static eb_json *procedure_json(const eb_session *s, const eb_json *declare)
{
  eb_json *procedure = eb_json_copy(eb_json_get(declare, "procedure"));
  eb_json *file = file_json(s->options.main);
  bool made = procedure != NULL && file != NULL;
  for (const eb_json *member = eb_json_first(file); made && member != NULL; member = eb_json_next(member))
    made = eb_json_set(procedure, eb_json_key(member), eb_json_copy(member));
  eb_json_destroy(file);
  if (made)
    return procedure;
  eb_json_destroy(procedure);
  return NULL;
}

static eb_json *library_json(const eb_session *s)
{
  eb_json *library = eb_json_array();
  bool made = library != NULL;
  for (size_t i = 0; made && i < s->options.library_count; i++)
    made = eb_json_add(library, file_json(&s->options.library[i]));
  if (made)
    return library;
  eb_json_destroy(library);
  return NULL;
}

static eb_json *limits_json(const eb_session *s)
{
  eb_json *limits = eb_json_object();
  if (eb_json_set_number(limits, "prompts", s->prompts_max))
    return limits;
  eb_json_destroy(limits);
  return NULL;
}

/* What a list of sessions wants to know stands before the sources, which are long. */
static eb_json *open_record(eb_session *s, const eb_json *declare)
{
  eb_json *open = record_new(s, "open");
  const eb_json *inputs = s->options.inputs;
  bool made = eb_json_set_string(open, "session", s->options.id) && eb_json_set_string(open, "program", s->program) &&
              eb_json_set_string(open, "runner", s->runner.name) && eb_json_set_number(open, "api", EB_API_LEVEL) &&
              eb_json_set(open, "inputs", inputs == NULL ? eb_json_object() : eb_json_copy(inputs)) &&
              eb_json_set(open, "procedure", procedure_json(s, declare)) &&
              eb_json_set(open, "library", library_json(s)) && eb_json_set(open, "declare", eb_json_copy(declare)) &&
              eb_json_set(open, "gauge", eb_gauge_json(&s->job.gauge)) &&
              eb_json_set_number(open, "tolerance", s->job.tolerance) &&
              eb_json_set_number(open, "risk", s->job.risk) && eb_json_set(open, "limits", limits_json(s));
  if (made && s->options.known != NULL)
    made = eb_json_set(open, "known", eb_json_copy(s->options.known));
  if (made)
    return open;
  eb_json_destroy(open);
  return NULL;
}

static eb_status create_journal(eb_session *s, const eb_json *declare, eb_error *error)
{
  /* JSON carries the source as text; what a NUL would cut off is refused here. */
  if (strlen(s->options.main->text) != s->options.main->size)
    return eb_fail(error, EB_BAD_TEXT, s->options.main->name, "the file holds a NUL byte; a procedure is plain text");
  eb_json *open = open_record(s, declare);
  if (open == NULL)
    return out_of_memory(error);
  eb_status status = eb_journal_create(s->host, s->options.path, open, &s->journal, error);
  eb_json_destroy(open);
  return status;
}

eb_status session_declared(eb_session *s, const eb_json *declare, eb_error *error)
{
  char way[240];
  s->job.declared = true;
  eb_status status = EB_OK;
  if (s->journal == NULL)
    status = create_journal(s, declare, error);
  else if (!eb_json_equal(eb_json_get(eb_journal_record(s->journal, 0), "declare"), declare))
    status =
        eb_fail(error, EB_MISMATCH, "record 1", "the procedure declares itself otherwise than the journal has it; %s",
                session_way_on(s, way, sizeof way));
  if (status != EB_OK || s->greeted)
    return status;
  s->greeted = true;
  status = session_queue_hello(s, error);
  return status == EB_OK ? known_tell(s, error) : status;
}
