/* The command `pack`: a procedure made ready for other shops. */
#include "check.h"
#include "claims.h"
#include "maker_keys.h"
#include "needs.h"

#include "evenbore/file.h"
#include "evenbore/script.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { LINE_SIZE = 256 };

/* One procedure being packed. */
typedef struct packing {
  const eb_run *run;
  eb_check check;
  eb_needs needs;
  eb_manifest manifest;
  eb_maker_key key;
  char licence[LINE_SIZE], instruments[LINE_SIZE * 4];
  char path[EB_PATH_SIZE]; /* of the bundle */
} packing;

/* What check finds is told as check tells it. */
static eb_status look_through(packing *p, eb_error *error)
{
  const eb_run *run = p->run;
  eb_check *c = &p->check;
  c->run = run;
  c->path = run->options.argument;
  c->see = eb_needs_see;
  c->context = &p->needs;
  if (!eb_check_look(c, error))
    return error->status;
  int wrong = run->options.strict ? c->count : eb_check_errors(c);
  if (wrong == 0)
    return EB_OK;
  eb_page page;
  eb_page_init(&page, run->host, run->columns, run->utf8, run->styled);
  eb_check_say(&page, c);
  eb_run_print(run, &page);
  return eb_fail(error, EB_SCRIPT, c->path, "not packed: %d %s to be put right first", wrong,
                 wrong == 1 ? "finding is" : "findings are");
}

static eb_status take_declared(packing *p, eb_error *error)
{
  const eb_json *procedure = eb_json_get(p->check.declare, "procedure");
  eb_manifest *m = &p->manifest;
  m->id = eb_json_get_string(procedure, "id", "");
  m->version = eb_json_get_string(procedure, "version", "");
  m->title = eb_json_get_string(procedure, "title", "");
  m->api = eb_json_get_int(procedure, "api", 0);
  if (eb_script_builtin_procedure(m->id) != NULL)
    return eb_fail(error, EB_SHADOWS, p->check.path,
                   "\"%s\" is the id of a built-in procedure, and no shop takes another by that name; choose an id of "
                   "your own",
                   m->id);
  return EB_OK;
}

static eb_status take_licence(packing *p, eb_error *error)
{
  const char *given = p->run->options.licence;
  if (given == NULL && isatty(STDIN_FILENO) == 1) {
    printf("The licence: what may others do with it?\nsuch as  CC0-1.0  or  for customers of the maker, unchanged\n> ");
    fflush(stdout);
    if (fgets(p->licence, sizeof p->licence, stdin) == NULL)
      p->licence[0] = '\0';
    p->licence[strcspn(p->licence, "\r\n")] = '\0';
    given = p->licence;
  }
  if (given == NULL || given[0] == '\0')
    return eb_fail(error, EB_BAD_VALUE, "--licence",
                   "nothing says what others may do with it; for example --licence CC0-1.0");
  p->manifest.licence = given;
  return EB_OK;
}

/* The procedure's own, then what --instruments adds. */
static eb_status take_needs(packing *p, eb_error *error)
{
  eb_manifest *m = &p->manifest;
  const char *given = p->run->options.instruments;
  m->instrument_count = eb_needs_instruments(&p->needs, m->instruments);
  if (given != NULL && strlen(given) >= sizeof p->instruments)
    return eb_fail(error, EB_OUT_OF_RANGE, "--instruments", "less than %zu bytes are wanted", sizeof p->instruments);
  snprintf(p->instruments, sizeof p->instruments, "%s", given == NULL ? "" : given);
  for (char *rest = p->instruments, *one; (one = strsep(&rest, ";")) != NULL;) {
    one += strspn(one, " ");
    for (size_t size = strlen(one); size > 0 && one[size - 1] == ' ';)
      one[--size] = '\0';
    if (one[0] == '\0')
      continue;
    if (m->instrument_count == EB_BUNDLE_TEXTS_MAX)
      return eb_fail(error, EB_OUT_OF_RANGE, "--instruments", "more than %d instruments", (int)EB_BUNDLE_TEXTS_MAX);
    m->instruments[m->instrument_count++] = one;
  }
  if (p->needs.too_much)
    return eb_fail(error, EB_OUT_OF_RANGE, p->check.path, "a bundle names %d hazards of %d bytes at most",
                   (int)EB_BUNDLE_TEXTS_MAX, (int)EB_BUNDLE_TEXT_MAX);
  for (int i = 0; i < p->needs.hazard_count; i++)
    m->hazards[m->hazard_count++] = p->needs.hazards[i];
  m->layouts = p->needs.layouts;
  m->layout_count = p->needs.layout_count;
  return EB_OK;
}

/* The highest revision among the bundles of this id in a folder, by their names. */
typedef struct highest {
  const char *id;
  int revision;
} highest;

static int see_name(void *argument, const char *name)
{
  highest *h = argument;
  size_t size = strlen(h->id);
  if (strncmp(name, h->id, size) != 0 || name[size] != '-')
    return 0;
  const char *digits = name + size + 1;
  size_t count = strspn(digits, "0123456789");
  if (count == 0 || count > 7 || digits[0] == '0' || strcmp(digits + count, EB_BUNDLE_ENDING) != 0)
    return 0;
  int revision = (int)strtol(digits, NULL, 10);
  h->revision = revision > h->revision ? revision : h->revision;
  return 0;
}

/* Without --revision one more than what lies where it is going to. */
static eb_status take_revision(packing *p, eb_error *error)
{
  const eb_options *o = &p->run->options;
  const eb_host *host = p->run->host;
  uint64_t revision = 0;
  char folder[EB_PATH_SIZE] = ".";
  eb_status status = eb_options_count("--revision", o->revision, 1, EB_BUNDLE_REVISION_MAX, &revision, error);
  if (status != EB_OK)
    return status;
  if (o->output != NULL)
    eb_path_folder(o->output, folder);
  if (o->revision == NULL) {
    highest h = {.id = p->manifest.id};
    host->files.list(host->context, folder, see_name, &h);
    revision = (uint64_t)h.revision + 1;
  }
  p->manifest.revision = (int)revision;
  int size = o->output != NULL
                 ? snprintf(p->path, sizeof p->path, "%s", o->output)
                 : snprintf(p->path, sizeof p->path, "%s-%d" EB_BUNDLE_ENDING, p->manifest.id, p->manifest.revision);
  if (size < 0 || (size_t)size >= sizeof p->path)
    return eb_fail(error, EB_OUT_OF_RANGE, "--output", "this path is too long");
  size_t ending = strlen(EB_BUNDLE_ENDING);
  if ((size_t)size <= ending || strcmp(p->path + (size_t)size - ending, EB_BUNDLE_ENDING) != 0)
    return eb_fail(error, EB_BAD_VALUE, p->path, "a bundle's name ends in " EB_BUNDLE_ENDING);
  if (host->files.kind(host->context, p->path) != EB_PATH_NOTHING)
    return eb_fail(error, EB_EXISTS, p->path, "is there already and is not written over; choose another name");
  return EB_OK;
}

static eb_status write_bundle(packing *p, eb_error *error)
{
  eb_text text;
  eb_source sources[1 + EB_PROCEDURE_FILES_MAX];
  const eb_loaded *l = &p->check.loaded;
  size_t count = 1;
  sources[0] = l->source;
  for (size_t i = l->builtin_count; i < l->library_count; i++)
    sources[count++] = l->library[i];
  eb_text_init(&text, p->run->host);
  eb_status status = eb_bundle_make(p->run->host, &p->manifest, sources, count, &p->key.secret, &text, error);
  if (status == EB_OK)
    status = eb_file_create(p->run->host, p->path, text.bytes, text.size, 0666, error);
  eb_text_clear(&text);
  return status;
}

static eb_status pack(packing *p, eb_error *error)
{
  eb_maker maker;
  bool sealed;
  const eb_run *run = p->run;
  eb_status status = look_through(p, error);
  if (status == EB_OK)
    status = take_declared(p, error);
  if (status == EB_OK)
    status = take_revision(p, error);
  if (status == EB_OK)
    status = take_licence(p, error);
  if (status == EB_OK)
    status = take_needs(p, error);
  if (status == EB_OK) /* a key that is not there is told before the rehearsals */
    status = eb_maker_keys_look(run, run->options.maker, &maker, &sealed, error);
  p->manifest.rehearsed = !run->options.no_rehearsal;
  if (status == EB_OK && p->manifest.rehearsed)
    status = eb_claims_make(run, &p->check.loaded, p->check.declare, NULL, &p->manifest.figures, error);
  if (status == EB_OK) /* opened only now: what is forked to rehearse has this process's memory */
    status = eb_maker_keys_open(run, run->options.maker, &p->key, error);
  if (status != EB_OK)
    return status;
  p->manifest.maker = p->key.name;
  p->manifest.key = p->key.secret.public_key;
  return write_bundle(p, error);
}

static int say_packed(const packing *p)
{
  const eb_run *run = p->run;
  const eb_manifest *m = &p->manifest;
  char print[EB_FINGERPRINT_SIZE];
  eb_page page;
  eb_page_init(&page, run->host, run->columns, run->utf8, run->styled);
  eb_fingerprint(&m->key, print);
  eb_page_sayf(&page, "Packed: %s", p->path);
  eb_page_sayf(&page, "%s (%s %s, revision %d), sealed by %s", m->title, m->id, m->version, m->revision, m->maker);
  if (p->needs.layouts_left > 0)
    eb_page_sayf(&page, "It has %d layouts more than a bundle draws.", p->needs.layouts_left);
  if (m->rehearsed)
    eb_claims_say(&page, "rehearsed", &m->figures, NULL, NULL);
  eb_page_say(&page, "Whoever gets it will ask you for your fingerprint; tell it by another way than the bundle goes:");
  eb_page_paragraph(&page, EB_STRONG, "  ", "  ", print);
  eb_page_sayf(&page, "Next: evenbore inspect %s", p->path);
  return eb_run_print(run, &page);
}

static eb_status check_options(const eb_run *run, eb_error *error)
{
  const eb_options *o = &run->options;
  if (o->no_rehearsal && (o->engines != NULL || o->seed != NULL || o->faults != NULL))
    return eb_fail(error, EB_BAD_VALUE, "--no-rehearsal", "goes without --engines, --seed and --faults");
  return EB_OK;
}

static int run_pack(packing *p)
{
  eb_error error = {.status = EB_OK};
  eb_status status = check_options(p->run, &error);
  if (status == EB_OK)
    status = pack(p, &error);
  if (status == EB_OK)
    return say_packed(p);
  eb_run_complain(p->run, &error);
  return eb_run_status(status);
}

int eb_run_pack(const eb_run *run)
{
  const eb_host *host = run->host;
  packing *p = host->allocate(host->context, NULL, sizeof *p);
  if (p == NULL) {
    eb_run_remark(run, "out of memory");
    return EB_EXIT_FAILED;
  }
  memset(p, 0, sizeof *p);
  p->run = run;
  int exit_status = run_pack(p);
  eb_maker_key_forget(&p->key);
  eb_check_clear(&p->check);
  host->allocate(host->context, p, 0);
  return exit_status;
}
