/* The command `inspect`: a bundle read before it is used.  Nothing of it is run, unless --rehearse asks for it. */
#include "inspect.h"

#include "chart.h"
#include "claims.h"
#include "declared.h"
#include "load.h"
#include "shop_shelf.h"

#include "evenbore/api.h"
#include "evenbore/script.h"

#include <stdio.h>
#include <string.h>

/* What stands on the shelf is meant by "ID" or "ID@VERSION", all else by its path. */
static bool is_path(const char *typed)
{
  return strchr(typed, '/') != NULL || (strchr(typed, '.') != NULL && strchr(typed, '@') == NULL);
}

static eb_status read_file(const eb_run *run, const char *path, eb_bundle *bundle, eb_error *error)
{
  char *text = NULL;
  size_t size = 0;
  eb_status status = eb_shop_shelf_read(run, path, &text, &size, error);
  if (status != EB_OK)
    return status;
  if (eb_statement_is(text, size))
    status = eb_fail(error, EB_NOT_BUNDLE, path,
                     "this is a maker's statement about a key, not a procedure; evenbore add takes it");
  else
    status = eb_bundle_read(run->host, path, text, size, bundle, error);
  run->host->allocate(run->host->context, text, 0);
  return status;
}

static eb_status read_typed(const eb_run *run, const eb_shelf *shelf, const char *typed, eb_bundle *bundle,
                            eb_error *error)
{
  return is_path(typed) ? read_file(run, typed, bundle, error) : eb_shelf_find(shelf, typed, bundle, NULL, error);
}

static void say_head(eb_page *page, const char *text)
{
  eb_page_blank(page);
  eb_page_paragraph(page, EB_STRONG, "", "", text);
}

/* Each on a line of its own. */
static void say_list(eb_page *page, const char *head, const char *const *texts, int count)
{
  if (count == 0)
    return;
  say_head(page, head);
  for (int i = 0; i < count; i++)
    eb_page_paragraph(page, EB_PLAIN, "- ", "  ", texts[i]);
}

static void say_standing(eb_page *page, const eb_known_maker *known)
{
  switch (known->standing) {
  case EB_TRUSTED_MAKER:
    eb_page_paragraph(page, EB_GOOD, "  ", "  ",
                      known->by_handover ? "trusted here, by a handover of a key that is" : "trusted here");
    return;
  case EB_REVOKED_MAKER:
    eb_page_paragraph(page, EB_ALARM, "  ", "  ", "revoked: this key signs nothing any more");
    return;
  case EB_UNTRUSTED_MAKER: eb_page_paragraph(page, EB_PLAIN, "  ", "  ", "known here, not trusted"); return;
  case EB_UNKNOWN_MAKER: break;
  }
  eb_page_paragraph(page, EB_PLAIN, "  ", "  ", "not known here");
}

static void say_maker(eb_inspect *in, const eb_shelf *shelf)
{
  eb_page *page = &in->page;
  const eb_manifest *m = &in->bundle.manifest;
  char print[EB_FINGERPRINT_SIZE];
  eb_known_maker known;
  eb_fingerprint(&m->key, print);
  eb_page_blank(page);
  eb_page_sayf(page, "Made by %s", m->maker);
  eb_page_paragraph(page, EB_STRONG, "  ", "  ", print);
  eb_shelf_know(shelf, &m->key, &known);
  say_standing(page, &known);
  eb_page_paragraph(page, EB_GOOD, "", "", "Verified: whole, and unchanged since the owner of this key sealed it.");
  if (known.standing == EB_TRUSTED_MAKER)
    return;
  eb_page_say(page, "Who that is, it cannot tell: ask the maker for the fingerprint by another way, by telephone or in "
                    "person, and compare the groups.");
}

/* What evenbore add would say to it. */
static eb_status say_shelf(eb_inspect *in, const eb_shelf *shelf, eb_error *error)
{
  char line[sizeof error->message + 100];
  bool there = false;
  eb_error why = {.status = EB_OK};
  eb_status status = eb_shelf_check(shelf, &in->bundle, &there, &why);
  if (status == EB_OUT_OF_MEMORY || status == EB_IO)
    return eb_fail(error, status, why.place, "%s", why.message);
  if (status == EB_OK)
    snprintf(line, sizeof line, there ? "It stands on your shelf." : "evenbore add puts it on your shelf.");
  else
    snprintf(line, sizeof line, "evenbore add would refuse it (%s): %s", eb_status_word(status), why.message);
  eb_page_paragraph(&in->page, status == EB_OK ? EB_PLAIN : EB_ALARM, "", "", line);
  return EB_OK;
}

static eb_status say_layouts(eb_inspect *in, eb_error *error)
{
  const eb_manifest *m = &in->bundle.manifest;
  for (int i = 0; i < m->layout_count; i++) {
    eb_json *shown = eb_layout_json(&m->layouts[i]);
    if (shown == NULL)
      return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
    eb_chart_parts(&in->page, shown);
    eb_json_destroy(shown);
  }
  return EB_OK;
}

/* "asks: Shims | Shims under both stops?" */
static void say_meaning(eb_page *page, const eb_meanings *list, const eb_meaning *m)
{
  static const char *const verbs[] = {
      [EB_MEANS_CAUTION] = "warns", [EB_MEANS_PROMPT] = "asks", [EB_MEANS_TELL] = "says"};
  char line[700];
  const char *words = eb_meaning_text(list, m->words), *name = eb_meaning_text(list, m->call);
  const eb_api_call *call = eb_api_call_find("job", name);
  if (m->kind == EB_MEANS_PART && words[0] == '\0')
    return; /* the layout has all of it */
  if (m->kind == EB_MEANS_STEP)
    snprintf(line, sizeof line, "step %.40s%s%.300s%s%.200s", name, words[0] == '\0' ? "" : ", ", words,
             call == NULL ? "" : ": ", call == NULL ? "" : call->help);
  else
    snprintf(line, sizeof line, "%.40s%s%.40s: %.500s", m->kind == EB_MEANS_PART ? name : verbs[m->kind],
             m->kind == EB_MEANS_PART ? " " : "", m->kind == EB_MEANS_PART ? eb_meaning_text(list, m->key) : "", words);
  eb_page_paragraph(page, EB_PLAIN, "- ", "  ", line);
}

static eb_status say_meanings(eb_inspect *in, eb_error *error)
{
  eb_meanings list;
  eb_meanings_read(in->run->host, in->bundle.source, in->bundle.source_count, &list);
  say_head(&in->page, "What it does, in the order of its text (read, not run)");
  for (size_t i = 0; i < list.count; i++)
    say_meaning(&in->page, &list, &list.found[i]);
  bool failed = list.failed;
  eb_meanings_clear(&list);
  return failed ? eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory") : EB_OK;
}

static void say_files(eb_inspect *in)
{
  say_head(&in->page, "Files");
  for (size_t i = 0; i < in->bundle.source_count; i++) {
    char digest[EB_DIGEST_SIZE];
    const eb_source *s = &in->bundle.source[i];
    eb_digest(s->text, s->size, digest);
    eb_page_sayf(&in->page, "- %s, %zu bytes, SHA-256", s->name + (strncmp(s->name, "./", 2) == 0 ? 2 : 0), s->size);
    eb_page_paragraph(&in->page, EB_PLAIN, "  ", "  ", digest);
  }
}

static void say_source(eb_inspect *in, const eb_source *source)
{
  unsigned line = 1;
  say_head(&in->page, source->name);
  for (size_t at = 0; at < source->size; line++) {
    char number[16];
    eb_text text;
    const char *end = memchr(source->text + at, '\n', source->size - at);
    size_t size = end == NULL ? source->size - at : (size_t)(end - source->text) - at;
    eb_text_init(&text, in->run->host);
    eb_text_add_bytes(&text, source->text + at, size);
    snprintf(number, sizeof number, "%4u  ", line);
    eb_page_put(&in->page, EB_PLAIN, number);
    eb_page_put(&in->page, EB_PLAIN, eb_text_string(&text));
    eb_page_end(&in->page);
    in->page.text.failed = in->page.text.failed || text.failed;
    eb_text_clear(&text);
    at += size + 1;
  }
}

/* A manifest is its maker's word; here is what the procedure says itself. */
static void say_contradictions(eb_inspect *in, const eb_json *declare)
{
  const char *part;
  for (size_t at = 0; (part = eb_declared_otherwise(&in->bundle.manifest, declare, &at)) != NULL;) {
    char line[100];
    snprintf(line, sizeof line, "! the procedure itself has another %s than its manifest tells", part);
    eb_page_paragraph(&in->page, EB_ALARM, "", "  ", line);
  }
}

/* Runs it, contained, and puts what came out beside what the maker claims. */
static eb_status say_rehearsal(eb_inspect *in, eb_error *error)
{
  eb_loaded loaded;
  eb_json *declare = NULL;
  eb_bundle_figures here;
  const eb_run *run = in->run;
  const eb_manifest *m = &in->bundle.manifest;
  eb_status status = eb_load_bundle(run->host, &in->bundle, &loaded, error);
  if (status == EB_OK)
    status =
        eb_load_declare(run->host, &run->runner, &loaded.source, loaded.library, loaded.library_count, &declare, error);
  if (status == EB_OK)
    status = eb_claims_make(run, &loaded, declare, m->rehearsed ? &m->figures : NULL, &here, error);
  if (status == EB_OK) {
    say_head(&in->page, "Rehearsed here, contained");
    say_contradictions(in, declare);
  }
  eb_json_destroy(declare);
  if (status != EB_OK)
    return status;
  eb_claims_say(&in->page, "here", &here, "as claimed", m->rehearsed ? &m->figures : NULL);
  return EB_OK;
}

static eb_status say_figures(eb_inspect *in, eb_error *error)
{
  const eb_manifest *m = &in->bundle.manifest;
  if (in->run->options.rehearse)
    return say_rehearsal(in, error);
  if (!m->rehearsed) {
    say_head(&in->page, "Rehearsed: not by its maker; --rehearse does it here");
    return EB_OK;
  }
  say_head(&in->page, "Rehearsed, as its maker claims (--rehearse does it here)");
  eb_claims_say(&in->page, "claimed", &m->figures, NULL, NULL);
  return EB_OK;
}

static eb_status say_bundle(eb_inspect *in, const eb_shelf *shelf, eb_error *error)
{
  eb_page *page = &in->page;
  const eb_manifest *m = &in->bundle.manifest;
  eb_page_blank(page);
  eb_page_paragraph(page, EB_STRONG, "", "", m->title);
  eb_page_sayf(page, "%s %s, revision %d, api %d, licence: %s", m->id, m->version, m->revision, m->api, m->licence);
  say_maker(in, shelf);
  eb_status status = say_shelf(in, shelf, error);
  if (status != EB_OK)
    return status;
  say_list(page, "It needs", m->instruments, m->instrument_count);
  say_list(page, "It warns of, beside what the program itself warns of", m->hazards, m->hazard_count);
  status = say_layouts(in, error);
  if (status == EB_OK)
    status = say_meanings(in, error);
  if (status == EB_OK)
    status = say_figures(in, error);
  if (status != EB_OK)
    return status;
  say_files(in);
  for (size_t i = 0; in->run->options.source && i < in->bundle.source_count; i++)
    say_source(in, &in->bundle.source[i]);
  if (in->before.host != NULL)
    status = eb_inspect_changes(in, error);
  eb_page_blank(page);
  return status;
}

/* What stands on the shelf by the same id; nothing is no failure. */
static eb_status find_before(eb_inspect *in, const eb_shelf *shelf, eb_error *error)
{
  const char *against = in->run->options.against;
  snprintf(in->before_words, sizeof in->before_words, "%s", against == NULL ? "" : against);
  if (against != NULL)
    return read_typed(in->run, shelf, against, &in->before, error);
  if (!is_path(in->path)) /* it is from there */
    return EB_OK;
  eb_status status = eb_shelf_find(shelf, in->bundle.manifest.id, &in->before, NULL, error);
  if (status == EB_NOT_FOUND)
    return EB_OK;
  if (status == EB_OK)
    snprintf(in->before_words, sizeof in->before_words, "revision %d on your shelf", in->before.manifest.revision);
  return status;
}

static eb_status inspect(eb_inspect *in, eb_error *error)
{
  eb_shop_shelf shop = {.shelf = NULL};
  eb_status status = eb_shop_shelf_open(in->run->host, in->run->options.data, false, &shop, error);
  if (status == EB_OK)
    status = read_typed(in->run, shop.shelf, in->path, &in->bundle, error);
  if (status == EB_OK && in->run->options.take_apart != NULL)
    status = eb_inspect_take_apart(in->run, &in->bundle, in->run->options.take_apart, error);
  else if (status == EB_OK) {
    status = find_before(in, shop.shelf, error);
    if (status == EB_OK)
      status = say_bundle(in, shop.shelf, error);
  }
  eb_shop_shelf_close(&shop);
  return status;
}

int eb_run_inspect(const eb_run *run)
{
  eb_inspect in = {.run = run, .path = run->options.argument};
  eb_error error;
  eb_page_init(&in.page, run->host, run->columns, run->utf8, run->styled);
  eb_status status = inspect(&in, &error);
  if (status == EB_OK && run->options.take_apart != NULL)
    eb_page_sayf(&in.page,
                 "Written: %s. To check it without this program, in that folder:\n"
                 "openssl pkeyutl -verify -pubin -inkey maker.pem -rawin -in signed -sigfile signature\n"
                 "sha256sum -c SHA256SUMS",
                 run->options.take_apart);
  int exit_status = EB_EXIT_DONE;
  if (status == EB_OK)
    exit_status = eb_run_print(run, &in.page);
  else {
    eb_run_complain(run, &error);
    exit_status = eb_run_status(status);
    eb_page_clear(&in.page);
  }
  eb_bundle_clear(&in.bundle);
  eb_bundle_clear(&in.before);
  return exit_status;
}
