/* Given: what a job is begun with besides its procedure: the shop's habits, its engine and its gauge. */
#ifndef EVENBORE_GIVEN_H
#define EVENBORE_GIVEN_H

#include "data.h"
#include "formats.h"
#include "run.h"

#include "evenbore/gauge.h"
#include "evenbore/habits.h"
#include "evenbore/json.h"
#include "evenbore/session.h"

typedef struct eb_given {
  eb_habits habits;
  eb_json *engine, *gauge; /* the files' content, checked; NULL: none is named */
  char engine_path[EB_DATA_PATH_SIZE];
} eb_given;

/* Reads what the options and the data folder say.  *exit_status is set on failure: EB_EXIT_USAGE where a name or an
 * option is wrong, EB_EXIT_FAILED where a file is. The caller clears *given after EB_OK. */
eb_status eb_given_read(const eb_run *run, eb_given *given, int *exit_status, eb_error *error);
void eb_given_clear(eb_given *given);

/* One file, read and checked: by its path, and by what a person typed for it (data.h). */
eb_status eb_given_file(const eb_run *run, const eb_format *format, const char *path, eb_json **made, eb_error *error);
eb_status eb_given_named(const eb_run *run, const eb_format *format, const char *kind, const char *folder,
                         const char *typed, char path[EB_DATA_PATH_SIZE], eb_json **made, int *exit_status,
                         eb_error *error);

/* The habits as they are kept in the data folder: none where there is no such file. */
eb_status eb_given_habits(const eb_run *run, eb_habits *habits, eb_error *error);

/* The procedure to load: that of the command line, else the engine's.  EB_NOT_FOUND. */
eb_status eb_given_procedure(const eb_run *run, const eb_given *given, const char **name, eb_error *error);

/* The session's inputs, as its first record keeps them: {"engine", "engine_file", "gauge", "gauge_file", "habits"},
 * each where it was given.  Owned by the caller; NULL when memory runs out. */
eb_json *eb_given_inputs(const eb_run *run, const eb_given *given);

/* Tolerance, risk and gauge; what is said nowhere is left to the procedure.  `gauge` is where options->gauge will
 * point. */
eb_status eb_given_options(const eb_run *run, const eb_given *given, const eb_json *declare, const char *name,
                           eb_session_options *options, eb_gauge *gauge, eb_error *error);

/* After a session's end: the gauge's file learns from its repeats, once.  What becomes of it is said in one line on
 * standard error; a file that is damaged, or describes another instrument by now, is left as it is. */
void eb_given_learn(const eb_run *run, const eb_session *session);

#endif
