/* Whom a shop trusts: what is typed, what is handed over, and what is revoked. */
#include "maker_json.h"
#include "makers.h"

#include "evenbore/text.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

const char *eb_standing_word(eb_standing standing)
{
  switch (standing) {
  case EB_UNTRUSTED_MAKER: return "not trusted";
  case EB_TRUSTED_MAKER: return "trusted";
  case EB_REVOKED_MAKER: return "revoked";
  case EB_UNKNOWN_MAKER: break;
  }
  return "unknown";
}

static bool revoked_itself(const eb_json *entry)
{
  const eb_json *revoked = eb_json_get(entry, "revoked");
  return revoked != NULL && strcmp(eb_json_get_string(revoked, "by", ""), eb_json_get_string(entry, "key", "")) == 0;
}

/* Whether trust came to a key, whatever became of it since: typed, or down its row from one that was. */
static bool has_trust(const eb_json *makers, const eb_json *entry, bool *by_handover)
{
  *by_handover = false;
  for (int steps = 0; entry != NULL && steps < EB_SHELF_MAKERS_MAX; steps++) {
    if (eb_json_get(entry, "trusted") != NULL)
      return true;
    if (eb_json_get_bool(entry, "distrusted", false))
      return false;
    entry = makers_before(makers, eb_json_get_string(entry, "key", ""));
    *by_handover = true;
    if (revoked_itself(entry))
      return false;
  }
  return false;
}

static void fill(const eb_shelf *shelf, const eb_json *entry, eb_known_maker *known)
{
  eb_known_maker k = {.standing = EB_UNTRUSTED_MAKER};
  maker_json_read(entry, &k.maker);
  snprintf(k.trusted_since, sizeof k.trusted_since, "%s", eb_json_get_string(entry, "trusted", ""));
  const eb_json *to = eb_json_get(entry, "to");
  k.handed_over = to != NULL && maker_json_read(makers_find(shelf->makers, eb_json_as_string(to, "")), &k.successor);
  const eb_json *revoked = eb_json_get(entry, "revoked");
  if (revoked != NULL) {
    k.standing = EB_REVOKED_MAKER;
    eb_revoked_read(eb_json_get_string(revoked, "reason", ""), &k.reason);
    snprintf(k.words, sizeof k.words, "%s", eb_json_get_string(revoked, "words", ""));
  } else if (has_trust(shelf->makers, entry, &k.by_handover)) {
    k.standing = EB_TRUSTED_MAKER;
  }
  *known = k;
}

size_t eb_shelf_maker_count(const eb_shelf *shelf)
{
  return (size_t)eb_json_count(eb_json_get(shelf->makers, "makers"));
}

void eb_shelf_maker(const eb_shelf *shelf, size_t index, eb_known_maker *known)
{
  fill(shelf, eb_json_at(eb_json_get(shelf->makers, "makers"), (int)index), known);
}

bool eb_shelf_know(const eb_shelf *shelf, const eb_public_key *key, eb_known_maker *known)
{
  const eb_json *entry = makers_find(shelf->makers, key->text);
  *known = (eb_known_maker){.standing = EB_UNKNOWN_MAKER, .maker = {.key = *key}};
  if (entry != NULL)
    fill(shelf, entry, known);
  return entry != NULL;
}

/* Whether what was typed is the beginning of a fingerprint, a group of five digits at least. */
static bool begins_fingerprint(const char *typed, const eb_public_key *key)
{
  char text[EB_FINGERPRINT_SIZE];
  size_t digits = 0, at = 0;
  eb_fingerprint(key, text);
  for (const char *c = typed; *c != '\0'; c++) {
    if (*c == ' ')
      continue;
    at += text[at] == ' ';
    if (!isdigit((unsigned char)*c) || text[at] != *c)
      return false;
    at++;
    digits++;
  }
  return digits >= 5;
}

static eb_status no_such_maker(const eb_shelf *shelf, const char *typed, eb_error *error)
{
  const char *names[EB_SHELF_MAKERS_MAX];
  size_t count = 0;
  for (const eb_json *entry = eb_json_first(eb_json_get(shelf->makers, "makers"));
       entry != NULL && count < EB_SHELF_MAKERS_MAX; entry = eb_json_next(entry))
    names[count++] = eb_json_get_string(entry, "name", "");
  if (count == 0)
    return eb_fail(error, EB_NOT_FOUND, typed, "no maker is known yet; evenbore add FILE makes one known");
  const char *near = eb_nearest(typed, names, count);
  if (near != NULL)
    return eb_fail(error, EB_NOT_FOUND, typed, "no such maker; the nearest is \"%s\"", near);
  return eb_fail(error, EB_NOT_FOUND, typed, "no such maker; evenbore makers lists them");
}

eb_status eb_shelf_find_maker(const eb_shelf *shelf, const char *typed, eb_known_maker *known, eb_error *error)
{
  int met = 0;
  eb_known_maker found = {.standing = EB_UNKNOWN_MAKER};
  for (size_t i = 0; i < eb_shelf_maker_count(shelf); i++) {
    eb_known_maker one;
    eb_shelf_maker(shelf, i, &one);
    if (strcmp(one.maker.name, typed) != 0 && !begins_fingerprint(typed, &one.maker.key))
      continue;
    found = one;
    met++;
  }
  if (met == 0)
    return no_such_maker(shelf, typed, error);
  if (met > 1)
    return eb_fail(error, EB_BAD_VALUE, typed,
                   "%d keys are called so; name one by the first group of its fingerprint (evenbore makers)", met);
  *known = found;
  return EB_OK;
}

static eb_status refuse_revoked(const eb_maker *maker, const eb_json *entry, eb_error *error)
{
  const eb_json *revoked = eb_json_get(entry, "revoked");
  return eb_fail(error, EB_REVOKED, maker->name, "this key is revoked (%s)", eb_json_get_string(revoked, "reason", ""));
}

eb_status eb_shelf_trust(eb_shelf *shelf, const eb_public_key *key, const char *typed, eb_error *error)
{
  char now[EB_TIME_TEXT_SIZE];
  eb_known_maker known;
  if (!eb_shelf_know(shelf, key, &known))
    return eb_fail(error, EB_NOT_FOUND, "", "this key was never met here");
  if (known.standing == EB_REVOKED_MAKER)
    return refuse_revoked(&known.maker, makers_find(shelf->makers, key->text), error);
  eb_status status = eb_fingerprint_check(key, typed, error);
  if (status != EB_OK)
    return status;
  eb_time_text(shelf->host->now(shelf->host->context), now);
  eb_json *changed = eb_json_copy(shelf->makers);
  eb_json *entry = changed == NULL ? NULL : makers_entry(changed, key->text);
  if (entry != NULL)
    eb_json_remove(entry, "distrusted");
  if (!eb_json_set_string(entry, "trusted", now)) {
    eb_json_destroy(changed);
    changed = NULL;
  }
  return makers_save(shelf, changed, error);
}

eb_status eb_shelf_distrust(eb_shelf *shelf, const eb_public_key *key, eb_error *error)
{
  if (makers_find(shelf->makers, key->text) == NULL)
    return eb_fail(error, EB_NOT_FOUND, "", "this key was never met here");
  eb_json *changed = eb_json_copy(shelf->makers);
  eb_json *entry = changed == NULL ? NULL : makers_entry(changed, key->text);
  if (entry != NULL)
    eb_json_remove(entry, "trusted");
  if (!eb_json_set_bool(entry, "distrusted", true)) {
    eb_json_destroy(changed);
    changed = NULL;
  }
  return makers_save(shelf, changed, error);
}

static eb_status check_handover(const eb_shelf *shelf, const eb_statement *s, bool *known, eb_error *error)
{
  const eb_json *from = makers_find(shelf->makers, s->maker.key.text);
  const eb_json *to = makers_find(shelf->makers, s->other.key.text);
  const char *handed = eb_json_get_string(from, "to", NULL);
  const eb_json *before = makers_before(shelf->makers, s->other.key.text);
  *known = handed != NULL && strcmp(handed, s->other.key.text) == 0;
  if (*known)
    return EB_OK;
  if (makers_revoked(from))
    return refuse_revoked(&s->maker, from, error);
  if (makers_revoked(to))
    return refuse_revoked(&s->other, to, error);
  if (handed != NULL)
    return eb_fail(error, EB_HANDED_OVER, s->maker.name,
                   "this key has handed over to another one already; ask the maker which is right");
  if (before != NULL || makers_related(shelf->makers, s->maker.key.text, s->other.key.text))
    return eb_fail(error, EB_HANDED_OVER, s->other.name, "this key has taken over from another one already");
  return EB_OK;
}

static eb_status check_revocation(const eb_shelf *shelf, const eb_statement *s, bool *known, eb_error *error)
{
  const eb_json *entry = makers_find(shelf->makers, s->maker.key.text);
  const char *by = s->other.key.text;
  const eb_json *signer = makers_find(shelf->makers, by);
  bool itself = strcmp(s->maker.key.text, by) == 0;
  if (!itself && !makers_succeeds(shelf->makers, s->maker.key.text, by))
    return eb_fail(error, EB_STRANGER, s->other.name,
                   "this key has no say about the key of %s; a handover to it would have to be taken in first",
                   s->maker.name);
  /* A thief of the later key must not undo what the maker says with the earlier one. */
  if (!itself && makers_revoked(signer))
    return refuse_revoked(&s->other, signer, error);
  /* One by the key itself says more than one by its successor. */
  *known = makers_revoked(entry) && (!itself || revoked_itself(entry));
  return EB_OK;
}

eb_status eb_shelf_check_statement(const eb_shelf *shelf, const eb_statement *statement, bool *known, eb_error *error)
{
  bool met = false;
  eb_status status = EB_OK;
  if (statement->kind == EB_HANDOVER)
    status = check_handover(shelf, statement, &met, error);
  else if (statement->kind == EB_REVOCATION)
    status = check_revocation(shelf, statement, &met, error);
  else
    met = makers_find(shelf->makers, statement->maker.key.text) != NULL;
  if (status == EB_OK)
    *known = met;
  return status;
}

static bool note_revocation(eb_json *entry, const eb_statement *s)
{
  eb_json *revoked = eb_json_object();
  if (eb_json_set_string(revoked, "reason", eb_revoked_word(s->reason)) &&
      eb_json_set_string(revoked, "words", s->words) && eb_json_set_string(revoked, "by", s->other.key.text))
    return eb_json_set(entry, "revoked", revoked);
  eb_json_destroy(revoked);
  return false;
}

static bool note(eb_json *makers, const eb_statement *s)
{
  if (makers_meet(makers, &s->maker) == NULL || makers_meet(makers, &s->other) == NULL)
    return false;
  eb_json *entry = makers_entry(makers, s->maker.key.text);
  if (s->kind == EB_HANDOVER)
    return eb_json_set_string(entry, "to", s->other.key.text);
  return s->kind != EB_REVOCATION || note_revocation(entry, s);
}

eb_status eb_shelf_take_statement(eb_shelf *shelf, const eb_statement *statement, bool *known, eb_error *error)
{
  bool met = false;
  eb_status status = eb_shelf_check_statement(shelf, statement, &met, error);
  if (status == EB_OK && !met) {
    eb_json *changed = eb_json_copy(shelf->makers);
    if (!note(changed, statement)) {
      eb_json_destroy(changed);
      changed = NULL;
    }
    status = makers_save(shelf, changed, error);
  }
  if (status == EB_OK)
    *known = met;
  return status;
}
