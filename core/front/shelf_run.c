/* The commands `add`, `remove` and `shelf`: what comes from other shops. */
#include "load.h"
#include "shop_shelf.h"

#include <stdio.h>
#include <string.h>

enum { LINE_SIZE = 1200 };

static int refuse(const eb_run *run, const eb_error *error)
{
  eb_run_complain(run, error);
  return eb_run_status(error->status);
}

static int say(const eb_run *run, const char *line)
{
  eb_page page;
  eb_page_init(&page, run->host, run->columns, run->utf8, run->styled);
  eb_page_say(&page, line);
  return eb_run_print(run, &page);
}

/* What to do next, by how its maker stands here. */
static void add_advice(const eb_known_maker *known, char *line, size_t size)
{
  size_t used = strlen(line);
  if (known->standing == EB_TRUSTED_MAKER)
    snprintf(line + used, size - used, " Its maker is trusted.");
  else
    snprintf(line + used, size - used,
             " Its maker is not trusted: evenbore practice and rehearse take it, tune asks each time. Hear the "
             "fingerprint from the maker, then: evenbore trust \"%s\"",
             known->maker.name);
}

static eb_status add_bundle(const eb_run *run, eb_shelf *shelf, const char *text, size_t size, char *line,
                            eb_error *error)
{
  eb_bundle bundle;
  eb_known_maker known;
  eb_loaded loaded; /* whether it could be; it borrows all from the bundle */
  bool there = false;
  eb_status status = eb_bundle_read(run->host, run->options.argument, text, size, &bundle, error);
  if (status != EB_OK)
    return status;
  const eb_manifest *m = &bundle.manifest;
  status = eb_load_bundle(run->host, &bundle, &loaded, error);
  if (status == EB_OK)
    status = eb_shelf_add(shelf, &bundle, text, size, &there, error);
  if (status == EB_OK) {
    snprintf(line, LINE_SIZE, "%s@%s, revision %d, by %s, %s.", m->id, m->version, m->revision, m->maker,
             there ? "is on the shelf already" : "is on the shelf");
    eb_shelf_know(shelf, &m->key, &known);
    add_advice(&known, line, LINE_SIZE);
  }
  eb_bundle_clear(&bundle);
  return status;
}

static void describe(const eb_statement *s, bool known, char *line)
{
  const char *took = known ? "was known already" : "was taken in";
  if (s->kind == EB_HANDOVER)
    snprintf(line, LINE_SIZE, "The handover from %s to %s %s. It passes on the trust that the old key has here.",
             s->maker.name, s->other.name, took);
  else if (s->kind == EB_REVOCATION)
    snprintf(line, LINE_SIZE, "The revocation of a key of %s (%s) %s. Nothing that it signed is tuned with any more.",
             s->maker.name, eb_revoked_word(s->reason), took);
  else
    snprintf(line, LINE_SIZE,
             "The card of %s %s. Nothing is trusted by that: hear the fingerprint from the maker, then: evenbore "
             "trust \"%s\"",
             s->maker.name, took, s->maker.name);
}

static eb_status add_statement(const eb_run *run, eb_shelf *shelf, const char *text, size_t size, char *line,
                               eb_error *error)
{
  eb_statement statement;
  bool known = false;
  eb_status status = eb_statement_read(run->host, run->options.argument, text, size, &statement, error);
  if (status == EB_OK)
    status = eb_shelf_take_statement(shelf, &statement, &known, error);
  if (status == EB_OK)
    describe(&statement, known, line);
  return status;
}

int eb_run_add(const eb_run *run)
{
  eb_shop_shelf shop = {.shelf = NULL};
  char line[LINE_SIZE];
  char *text = NULL;
  size_t size = 0;
  eb_error error;
  eb_status status = eb_shop_shelf_read(run, run->options.argument, &text, &size, &error);
  if (status == EB_OK)
    status = eb_shop_shelf_open(run->host, run->options.data, true, &shop, &error);
  if (status == EB_OK && eb_statement_is(text, size))
    status = add_statement(run, shop.shelf, text, size, line, &error);
  else if (status == EB_OK)
    status = add_bundle(run, shop.shelf, text, size, line, &error);
  eb_shop_shelf_close(&shop);
  run->host->allocate(run->host->context, text, 0);
  return status == EB_OK ? say(run, line) : refuse(run, &error);
}

int eb_run_remove(const eb_run *run)
{
  eb_shop_shelf shop;
  char spec[EB_SHELF_SPEC_SIZE], line[EB_SHELF_SPEC_SIZE + 100];
  eb_error error;
  eb_status status = eb_shop_shelf_open(run->host, run->options.data, true, &shop, &error);
  if (status == EB_OK)
    status = eb_shelf_remove(shop.shelf, run->options.argument, spec, &error);
  eb_shop_shelf_close(&shop);
  if (status != EB_OK)
    return refuse(run, &error);
  snprintf(line, sizeof line, "%s is off the shelf. Jobs that were begun with it go on as before.", spec);
  return say(run, line);
}

static void say_found(eb_page *page, const eb_found *found)
{
  char line[LINE_SIZE];
  const char *news = found->there ? ", known here already" : "";
  if (found->why.status != EB_OK)
    snprintf(line, sizeof line, "%s  refused (%s): %s", found->name, eb_status_word(found->why.status),
             found->why.message);
  else if (found->is_bundle)
    snprintf(line, sizeof line, "%s  %s@%s, revision %d, \"%s\", by %s (%s)%s", found->name, found->id, found->version,
             found->revision, found->title, found->maker.name, eb_standing_word(found->standing), news);
  else
    snprintf(line, sizeof line, "%s  a %s of %s (%s)%s", found->name, eb_statement_word(found->kind), found->maker.name,
             eb_standing_word(found->standing), news);
  eb_page_paragraph(page, EB_PLAIN, "", "  ", line);
}

static void say_list(eb_page *page, const eb_found_list *list)
{
  for (size_t i = 0; i < list->count; i++)
    say_found(page, &list->found[i]);
  if (list->count == 0)
    eb_page_say(page, "Nothing here ends in .evenbore.");
  if (list->cut)
    eb_page_sayf(page, "There is more here; %d files were looked at.", (int)EB_SHELF_FOUND_MAX);
  if (list->others > 0)
    eb_page_sayf(page, "%zu other file%s passed over.", list->others, list->others == 1 ? " was" : "s were");
}

int eb_run_shelf(const eb_run *run)
{
  eb_shop_shelf shop;
  eb_found_list list;
  eb_error error;
  eb_page page;
  eb_status status = eb_shop_shelf_open(run->host, run->options.data, false, &shop, &error);
  if (status == EB_OK)
    status = eb_shelf_scan(shop.shelf, run->options.argument, &list, &error);
  eb_shop_shelf_close(&shop);
  if (status != EB_OK)
    return refuse(run, &error);
  eb_page_init(&page, run->host, run->columns, run->utf8, run->styled);
  say_list(&page, &list);
  bool all_good = true;
  for (size_t i = 0; i < list.count; i++)
    all_good = all_good && list.found[i].why.status == EB_OK;
  eb_found_list_clear(&list);
  int printed = eb_run_print(run, &page);
  return all_good ? printed : EB_EXIT_FAILED;
}
