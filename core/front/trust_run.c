/* The commands `makers`, `trust` and `distrust`: whom this shop takes procedures from. */
#include "shop_shelf.h"

#include "evenbore/format.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { LINE_SIZE = 1200 };

static int refuse(const eb_run *run, const eb_error *error)
{
  eb_run_complain(run, error);
  return eb_run_status(error->status);
}

static void say_standing(const eb_known_maker *known, char *text, size_t size)
{
  char since[EB_FORMAT_SIZE];
  eb_format_date(known->trusted_since, since);
  if (known->standing == EB_REVOKED_MAKER)
    snprintf(text, size, "revoked (%s)%s%s", eb_revoked_word(known->reason), known->words[0] == '\0' ? "" : ": ",
             known->words);
  else if (known->standing == EB_TRUSTED_MAKER && known->trusted_since[0] != '\0')
    snprintf(text, size, "trusted since %s, by its fingerprint", since);
  else if (known->standing == EB_TRUSTED_MAKER)
    snprintf(text, size, "trusted, by a handover from a key that is");
  else
    snprintf(text, size, "%s", eb_standing_word(known->standing));
}

static void say_maker(eb_page *page, const eb_known_maker *known)
{
  char line[LINE_SIZE], standing[400], fingerprint[EB_FINGERPRINT_SIZE];
  say_standing(known, standing, sizeof standing);
  eb_fingerprint(&known->maker.key, fingerprint);
  snprintf(line, sizeof line, "%s  %s", known->maker.name, standing);
  eb_page_paragraph(page, EB_STRONG, "", "  ", line);
  snprintf(line, sizeof line, "fingerprint  %s", fingerprint);
  eb_page_paragraph(page, EB_PLAIN, "  ", "    ", line);
  if (!known->handed_over)
    return;
  eb_fingerprint(&known->successor.key, fingerprint);
  snprintf(line, sizeof line, "signs by now with the key of %s that begins with %.5s", known->successor.name,
           fingerprint);
  eb_page_paragraph(page, EB_PLAIN, "  ", "    ", line);
}

int eb_run_makers(const eb_run *run)
{
  eb_shop_shelf shop;
  eb_known_maker known;
  eb_error error;
  eb_page page;
  if (eb_shop_shelf_open(run->host, run->options.data, false, &shop, &error) != EB_OK)
    return refuse(run, &error);
  size_t count = eb_shelf_maker_count(shop.shelf);
  eb_page_init(&page, run->host, run->columns, run->utf8, run->styled);
  for (size_t i = 0; i < count; i++) {
    eb_shelf_maker(shop.shelf, i, &known);
    say_maker(&page, &known);
  }
  if (count == 0)
    eb_page_say(&page, "No makers are known yet. evenbore add FILE takes in what comes from one.");
  eb_shop_shelf_close(&shop);
  return eb_run_print(run, &page);
}

/* One line of standard input, as it was typed. False at its end. */
static bool read_line(char *line, size_t size)
{
  if (fgets(line, (int)size, stdin) == NULL)
    return false;
  line[strcspn(line, "\r\n")] = '\0';
  return true;
}

/* The fingerprint itself is not shown: it has to come from the maker. */
static eb_status ask_fingerprint(const eb_known_maker *known, char *line, size_t size, eb_error *error)
{
  if (isatty(STDIN_FILENO) == 1)
    dprintf(STDERR_FILENO,
            "The fingerprint of %s, as you have it from the maker by telephone or on paper.\n"
            "40 digits; spaces are as you like. Enter alone leaves it.\n> ",
            known->maker.name);
  if (read_line(line, size) && line[0] != '\0')
    return EB_OK;
  return eb_fail(error, EB_FINGERPRINT, known->maker.name, "no fingerprint was typed; nothing is trusted");
}

/* A name of two keys is one to ask about. */
static void warn_of_namesakes(const eb_run *run, const eb_shelf *shelf, const eb_maker *maker)
{
  char line[400];
  eb_known_maker other;
  for (size_t i = 0; i < eb_shelf_maker_count(shelf); i++) {
    eb_shelf_maker(shelf, i, &other);
    if (strcmp(other.maker.name, maker->name) != 0 || eb_public_key_equal(&other.maker.key, &maker->key))
      continue;
    snprintf(line, sizeof line, "another key with the name %s is known here (%s); ask the maker which is right",
             maker->name, eb_standing_word(other.standing));
    eb_run_remark(run, line);
  }
}

static eb_status trust(const eb_run *run, eb_shelf *shelf, eb_known_maker *known, eb_error *error)
{
  char line[256];
  eb_status status = eb_shelf_find_maker(shelf, run->options.argument, known, error);
  if (status == EB_OK && known->standing == EB_REVOKED_MAKER)
    return eb_fail(error, EB_REVOKED, known->maker.name, "this key is revoked (%s); it is not trusted any more",
                   eb_revoked_word(known->reason));
  if (status == EB_OK) {
    warn_of_namesakes(run, shelf, &known->maker);
    status = ask_fingerprint(known, line, sizeof line, error);
  }
  if (status == EB_OK)
    status = eb_shelf_trust(shelf, &known->maker.key, line, error);
  return status;
}

/* The folder is held while somebody types: who is at it meanwhile is told so, and nothing changes underneath. */
static int change(const eb_run *run, eb_status (*how)(const eb_run *, eb_shelf *, eb_known_maker *, eb_error *),
                  const char *done)
{
  eb_shop_shelf shop;
  eb_known_maker known;
  eb_error error;
  eb_page page;
  eb_status status = eb_shop_shelf_open(run->host, run->options.data, true, &shop, &error);
  if (status == EB_OK)
    status = how(run, shop.shelf, &known, &error);
  eb_shop_shelf_close(&shop);
  if (status != EB_OK)
    return refuse(run, &error);
  eb_page_init(&page, run->host, run->columns, run->utf8, run->styled);
  eb_page_sayf(&page, "%s %s", known.maker.name, done);
  return eb_run_print(run, &page);
}

static eb_status distrust(const eb_run *run, eb_shelf *shelf, eb_known_maker *known, eb_error *error)
{
  eb_status status = eb_shelf_find_maker(shelf, run->options.argument, known, error);
  return status == EB_OK ? eb_shelf_distrust(shelf, &known->maker.key, error) : status;
}

int eb_run_trust(const eb_run *run)
{
  return change(run, trust, "is trusted from now on. evenbore distrust takes it back.");
}

int eb_run_distrust(const eb_run *run)
{
  return change(run, distrust, "is not trusted any more; procedures of this key ask again before each job.");
}
