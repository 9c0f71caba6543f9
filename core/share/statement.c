/* What a maker states about its keys, as a text that travels. */
#include "maker_json.h"

#include "evenbore/json.h"
#include "evenbore/maker.h"

#include <stdio.h>
#include <string.h>

enum { SIGNERS_MAX = 2 };

typedef struct form {
  const char *format, *word;
  eb_purpose purpose;
  int signers;
  const char *maker, *other; /* keys of the two in `statement`; other NULL: there is none */
} form;

static const form forms[EB_STATEMENT_KINDS] = {
    [EB_CARD] = {"evenbore-card", "card", EB_FOR_CARD, 1, "maker", NULL},
    [EB_HANDOVER] = {"evenbore-handover", "handover", EB_FOR_HANDOVER, 2, "from", "to"},
    [EB_REVOCATION] = {"evenbore-revocation", "revocation", EB_FOR_REVOCATION, 1, "maker", "by"},
};

static const char *const reasons[EB_REVOKED_REASONS] = {"lost", "stolen", "retired"};

const char *eb_statement_word(eb_statement_kind kind)
{
  return forms[kind].word;
}

const char *eb_revoked_word(eb_revoked reason)
{
  return reasons[reason];
}

bool eb_revoked_read(const char *word, eb_revoked *reason)
{
  for (int i = 0; i < EB_REVOKED_REASONS; i++)
    if (strcmp(word, reasons[i]) == 0) {
      *reason = (eb_revoked)i;
      return true;
    }
  return false;
}

static eb_status out_of_memory(eb_error *error)
{
  return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
}

/* What is signed. NULL when memory runs out; owned by the caller. */
static eb_json *statement_json(const eb_statement *s)
{
  const form *f = &forms[s->kind];
  eb_json *made = eb_json_object();
  bool set = eb_json_set(made, f->maker, maker_json_make(&s->maker));
  if (set && f->other != NULL)
    set = eb_json_set(made, f->other, maker_json_make(&s->other));
  if (set && s->kind == EB_REVOCATION)
    set = eb_json_set_string(made, "reason", reasons[s->reason]) && eb_json_set_string(made, "words", s->words);
  if (set)
    return made;
  eb_json_destroy(made);
  return NULL;
}

/* The bytes that are signed, and the whole text with these signatures. */
static eb_status write_statement(const eb_statement *s, const char *const *signatures, eb_text *bytes, eb_text *whole)
{
  const form *f = &forms[s->kind];
  eb_json *statement = statement_json(s);
  eb_json *file = eb_json_object();
  eb_json *list = eb_json_array();
  bool made = statement != NULL && list != NULL;
  if (made && bytes != NULL)
    eb_json_write_mail(bytes, statement);
  for (int i = 0; made && whole != NULL && i < f->signers && i < SIGNERS_MAX; i++)
    made = eb_json_add_string(list, signatures[i]);
  made = eb_json_set_string(file, "format", f->format) && eb_json_set_number(file, "version", 1) && made;
  made = eb_json_set(file, "statement", statement) && made;
  made = eb_json_set(file, "signatures", list) && made;
  if (made && whole != NULL)
    eb_json_write_mail(whole, file);
  eb_json_destroy(file);
  bool failed = (bytes != NULL && bytes->failed) || (whole != NULL && whole->failed);
  return made && !failed ? EB_OK : EB_OUT_OF_MEMORY;
}

static eb_status sign(const eb_host *host, const eb_statement *s, const eb_secret_key *const *keys, eb_text *text,
                      eb_error *error)
{
  char signature[SIGNERS_MAX][EB_SIGNATURE_TEXT_SIZE] = {"", ""};
  const char *signatures[SIGNERS_MAX] = {signature[0], signature[1]};
  eb_text bytes = {.host = host};
  eb_status status = write_statement(s, NULL, &bytes, NULL);
  for (int i = 0; status == EB_OK && i < forms[s->kind].signers && i < SIGNERS_MAX; i++)
    status = eb_sign(host, forms[s->kind].purpose, eb_text_string(&bytes), bytes.size, keys[i], signature[i], error);
  if (status == EB_OK)
    status = write_statement(s, signatures, NULL, text);
  eb_text_clear(&bytes);
  return status == EB_OUT_OF_MEMORY ? out_of_memory(error) : status;
}

static eb_status maker_of(const eb_maker_key *key, eb_maker *maker, eb_error *error)
{
  eb_status status = eb_maker_name_check(key->name, error);
  snprintf(maker->name, sizeof maker->name, "%s", key->name);
  maker->key = key->secret.public_key;
  return status;
}

eb_status eb_card_write(const eb_host *host, const eb_maker_key *maker, eb_text *text, eb_error *error)
{
  eb_statement s = {.kind = EB_CARD};
  const eb_secret_key *const keys[SIGNERS_MAX] = {&maker->secret, NULL};
  eb_status status = maker_of(maker, &s.maker, error);
  return status == EB_OK ? sign(host, &s, keys, text, error) : status;
}

eb_status eb_handover_write(const eb_host *host, const eb_maker_key *from, const eb_maker_key *to, eb_text *text,
                            eb_error *error)
{
  eb_statement s = {.kind = EB_HANDOVER};
  const eb_secret_key *const keys[SIGNERS_MAX] = {&from->secret, &to->secret};
  eb_status status = maker_of(from, &s.maker, error);
  if (status == EB_OK)
    status = maker_of(to, &s.other, error);
  if (status == EB_OK && eb_public_key_equal(&s.maker.key, &s.other.key))
    status = eb_fail(error, EB_BAD_VALUE, "", "a key cannot hand over to itself; make a new one first");
  return status == EB_OK ? sign(host, &s, keys, text, error) : status;
}

eb_status eb_revocation_write(const eb_host *host, const eb_maker *maker, const eb_maker_key *by, eb_revoked reason,
                              const char *words, eb_text *text, eb_error *error)
{
  eb_statement s = {.kind = EB_REVOCATION, .maker = *maker, .reason = reason};
  const eb_secret_key *const keys[SIGNERS_MAX] = {&by->secret, NULL};
  eb_status status = maker_of(by, &s.other, error);
  if (status == EB_OK && !maker_text_fits(words, sizeof s.words))
    status =
        eb_fail(error, EB_BAD_TEXT, "", "the words are longer than %d bytes, or hold a character that cannot be shown",
                (int)sizeof s.words - 1);
  if (status != EB_OK)
    return status;
  snprintf(s.words, sizeof s.words, "%s", words);
  return sign(host, &s, keys, text, error);
}

/* The kind that a text begins as; EB_STATEMENT_KINDS: none. */
static eb_statement_kind kind_of(const char *text, size_t size)
{
  for (int i = 0; i < EB_STATEMENT_KINDS; i++) {
    char line[64];
    for (int returns = 0; returns < 2; returns++) {
      const char *end = returns ? "\r\n" : "\n";
      int length = snprintf(line, sizeof line, "{%s\"format\":\"%s\",%s", end, forms[i].format, end);
      if (size >= (size_t)length && memcmp(text, line, (size_t)length) == 0)
        return (eb_statement_kind)i;
    }
  }
  return EB_STATEMENT_KINDS;
}

bool eb_statement_is(const char *text, size_t size)
{
  return kind_of(text, size) != EB_STATEMENT_KINDS;
}

static bool read_fields(const eb_json *statement, eb_statement *s)
{
  const form *f = &forms[s->kind];
  if (!maker_json_read(eb_json_get(statement, f->maker), &s->maker))
    return false;
  s->other = s->maker;
  if (f->other != NULL && !maker_json_read(eb_json_get(statement, f->other), &s->other))
    return false;
  if (s->kind == EB_HANDOVER)
    return !eb_public_key_equal(&s->maker.key, &s->other.key);
  const char *words = eb_json_get_string(statement, "words", "");
  if (s->kind != EB_REVOCATION)
    return true;
  if (!maker_text_fits(words, sizeof s->words))
    return false;
  snprintf(s->words, sizeof s->words, "%s", words);
  return eb_revoked_read(eb_json_get_string(statement, "reason", ""), &s->reason);
}

/* What was read, written again, is the same to the byte but for what a transport does to line ends: so there is nothing
 * in it that was not read. */
static eb_status check_spelling(const eb_host *host, const eb_json *file, const eb_statement *s, eb_text *bytes)
{
  const char *signatures[SIGNERS_MAX] = {"", ""};
  eb_text as_made, as_read;
  const eb_json *list = eb_json_get(file, "signatures");
  for (int i = 0; i < SIGNERS_MAX; i++)
    signatures[i] = eb_json_as_string(eb_json_at(list, i), "");
  eb_text_init(&as_made, host);
  eb_text_init(&as_read, host);
  eb_status status = write_statement(s, signatures, bytes, &as_made);
  eb_json_write_mail(&as_read, file);
  if (status == EB_OK && as_read.failed)
    status = EB_OUT_OF_MEMORY;
  if (status == EB_OK && strcmp(eb_text_string(&as_made), eb_text_string(&as_read)) != 0)
    status = EB_BAD_FORM;
  eb_text_clear(&as_made);
  eb_text_clear(&as_read);
  return status;
}

static eb_status check_signatures(const eb_host *host, const eb_json *file, const eb_statement *s, const eb_text *bytes,
                                  eb_error *error)
{
  const form *f = &forms[s->kind];
  const eb_json *list = eb_json_get(file, "signatures");
  const eb_maker *const signer[SIGNERS_MAX] = {s->kind == EB_REVOCATION ? &s->other : &s->maker, &s->other};
  eb_status status = EB_OK;
  for (int i = 0; status == EB_OK && i < f->signers && i < SIGNERS_MAX; i++)
    status = eb_signature_check(host, f->purpose, eb_text_string(bytes), bytes->size, &signer[i]->key,
                                eb_json_as_string(eb_json_at(list, i), ""), error);
  return status;
}

static eb_status read_tree(const eb_host *host, const eb_json *file, eb_statement *s, eb_error *error)
{
  eb_text bytes = {.host = host};
  if (eb_json_get_number(file, "version", 1) > 1)
    return eb_fail(error, EB_TOO_NEW, "", "a later evenbore made this %s; a newer one is needed to read it",
                   forms[s->kind].word);
  eb_status status = read_fields(eb_json_get(file, "statement"), s) ? EB_OK : EB_BAD_FORM;
  if (status == EB_OK)
    status = check_spelling(host, file, s, &bytes);
  if (status == EB_BAD_FORM)
    eb_fail(error, status, "", "this is no %s as this program writes it; something is missing, added or out of order",
            forms[s->kind].word);
  else if (status != EB_OK)
    out_of_memory(error);
  else
    status = check_signatures(host, file, s, &bytes, error);
  eb_text_clear(&bytes);
  return status;
}

eb_status eb_statement_read(const eb_host *host, const char *name, const char *text, size_t size,
                            eb_statement *statement, eb_error *error)
{
  char place[EB_PLACE_SIZE];
  eb_json *file = NULL;
  eb_error why;
  eb_statement read = {.kind = kind_of(text, size)};
  eb_json_place(name, 0, place);
  if (read.kind == EB_STATEMENT_KINDS)
    return eb_fail(error, EB_BAD_FORM, place, "this is no card, handover or revocation of this program");
  if (size > EB_STATEMENT_MAX)
    return eb_fail(error, EB_OUT_OF_RANGE, place, "this %s is larger than %d KiB", forms[read.kind].word,
                   (int)EB_STATEMENT_MAX / 1024);
  eb_status status = eb_json_parse_mail(host, name, text, size, &file, &why);
  if (status != EB_OK)
    return eb_fail(error, status == EB_OUT_OF_MEMORY ? status : EB_BAD_FORM, why.place, "%s", why.message);
  status = read_tree(host, file, &read, &why);
  eb_json_destroy(file);
  if (status != EB_OK)
    return eb_fail(error, status, place, "%s", why.message);
  *statement = read;
  return EB_OK;
}
