/* A bundle's text: verified before anything else is made of it. */
#include "evenbore/bundle.h"

#include "manifest.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

const char eb_bundle_format[] = "evenbore-bundle";

/* One text being read. */
typedef struct reader {
  const eb_host *host;
  const char *name; /* of the file */
  eb_json *tree;
  const eb_json *manifest, *sources, *seal;
  eb_error *error;
} reader;

static eb_status refuse(const reader *r, eb_status status, const char *message)
{
  return eb_fail(r->error, status, r->name, "%s", message);
}

/* Moves over `word`, a newline in it being any of a transport's. */
static bool take(const char **at, const char *end, const char *word)
{
  const char *c = *at;
  for (; *word != '\0'; word++) {
    if (*word == '\n' && end - c > 1 && c[0] == '\r' && c[1] == '\n')
      c++;
    if (c >= end || *c++ != *word)
      return false;
  }
  *at = c;
  return true;
}

/* A later version may be spelled otherwise from its third line on. */
static eb_status check_beginning(const reader *r, const char *text, size_t size)
{
  char begin[64], version[64];
  const char *at = text, *end = text + size;
  snprintf(begin, sizeof begin, "{\n\"format\":\"%s\",\n", eb_bundle_format);
  snprintf(version, sizeof version, "\"version\":%d,\n", EB_BUNDLE_VERSION);
  if (!take(&at, end, begin))
    return refuse(r, EB_NOT_BUNDLE,
                  "this is no bundle; one is made by evenbore pack, and its name ends in " EB_BUNDLE_ENDING);
  if (take(&at, end, version))
    return EB_OK;
  size_t digits = 0;
  const char *number = at;
  if (take(&number, end, "\"version\":"))
    while (number + digits < end && number[digits] >= '0' && number[digits] <= '9' && digits < 9)
      digits++;
  if (digits > 0 && number[0] != '0' && !(digits == 1 && number[0] <= '0' + EB_BUNDLE_VERSION))
    return refuse(r, EB_TOO_NEW, "this bundle was made by a later version; a newer evenbore is needed to read it");
  return refuse(r, EB_BAD_FORM, "the version of its format is not told where it is to stand");
}

static eb_status check_keys(const reader *r, const eb_json *object, const char *what, const char *const *keys,
                            size_t count)
{
  eb_error met;
  eb_status status = eb_share_keys(object, what, keys, count, &met);
  return status == EB_OK ? EB_OK : refuse(r, status, met.message);
}

static eb_status check_shape(reader *r)
{
  static const char *const all[] = {"format", "version", "manifest", "sources", "seal"};
  static const char *const sealed[] = {"purpose", "key", "digest", "signature"};
  static const char *const told[] = {"id",      "version",     "api",     "title",   "revision",  "maker",
                                     "licence", "instruments", "hazards", "layouts", "rehearsal", "files"};
  static const char *const untold[] = {"id",      "version",     "api",     "title",   "revision", "maker",
                                       "licence", "instruments", "hazards", "layouts", "files"};
  r->manifest = eb_json_get(r->tree, "manifest");
  r->sources = eb_json_get(r->tree, "sources");
  r->seal = eb_json_get(r->tree, "seal");
  bool rehearsed = eb_json_get(r->manifest, "rehearsal") != NULL;
  eb_status status = check_keys(r, r->tree, "the bundle", all, sizeof all / sizeof all[0]);
  if (status == EB_OK && rehearsed)
    status = check_keys(r, r->manifest, "manifest", told, sizeof told / sizeof told[0]);
  if (status == EB_OK && !rehearsed)
    status = check_keys(r, r->manifest, "manifest", untold, sizeof untold / sizeof untold[0]);
  if (status == EB_OK)
    status = check_keys(r, r->seal, "seal", sealed, sizeof sealed / sizeof sealed[0]);
  return status;
}

static eb_status check_signature(const reader *r, const eb_text *manifest)
{
  eb_public_key key;
  eb_error met;
  eb_status status = eb_public_key_read(eb_json_get_string(r->seal, "key", ""), &key, &met);
  if (status != EB_OK)
    return eb_fail(r->error, EB_BAD_SIGNER, r->name, "the seal's key: %s", met.message);
  if (strcmp(key.text, eb_json_get_string(eb_json_get(r->manifest, "maker"), "key", "")) != 0)
    return refuse(r, EB_BAD_SIGNER, "it is sealed by another key than its maker's");
  status = eb_signature_check(r->host, EB_FOR_BUNDLE, manifest->bytes, manifest->size, &key,
                              eb_json_get_string(r->seal, "signature", ""), &met);
  return status == EB_OK ? EB_OK : refuse(r, status, met.message);
}

static eb_status check_seal(const reader *r)
{
  char digest[EB_DIGEST_SIZE];
  eb_text manifest, bytes;
  if (strcmp(eb_json_get_string(r->seal, "purpose", ""), eb_purpose_word(EB_FOR_BUNDLE)) != 0)
    return eb_fail(r->error, EB_BAD_PURPOSE, r->name, "it is sealed as a \"%.40s\", not as a bundle",
                   eb_json_get_string(r->seal, "purpose", "?"));
  eb_text_init(&manifest, r->host);
  eb_text_init(&bytes, r->host);
  eb_json_write_mail(&manifest, r->manifest);
  eb_signed_bytes(&bytes, EB_FOR_BUNDLE, eb_text_string(&manifest), manifest.size);
  eb_status status = EB_OK;
  if (manifest.failed || bytes.failed)
    status = refuse(r, EB_OUT_OF_MEMORY, "out of memory");
  else {
    eb_digest(bytes.bytes, bytes.size, digest);
    if (strcmp(eb_json_get_string(r->seal, "digest", ""), digest) != 0)
      status = refuse(r, EB_BAD_MANIFEST, "its manifest is not the one that was sealed");
    else
      status = check_signature(r, &manifest);
  }
  eb_text_clear(&manifest);
  eb_text_clear(&bytes);
  return status;
}

static eb_status check_source(const reader *r, const eb_json *file, const eb_json *source)
{
  static const char *const file_keys[] = {"name", "size", "digest"}, *const source_keys[] = {"name", "text"};
  char digest[EB_DIGEST_SIZE];
  eb_status status = check_keys(r, file, "files", file_keys, 3);
  if (status == EB_OK)
    status = check_keys(r, source, "sources", source_keys, 2);
  if (status != EB_OK)
    return status;
  const char *name = eb_json_get_string(file, "name", ""), *text = eb_json_get_string(source, "text", "");
  if (strcmp(name, eb_json_get_string(source, "name", "")) != 0)
    return eb_fail(r->error, EB_BAD_PAYLOAD, r->name, "%.80s stands where the manifest has %.80s",
                   eb_json_get_string(source, "name", "?"), name);
  eb_digest(text, strlen(text), digest);
  if (strcmp(digest, eb_json_get_string(file, "digest", "")) != 0 ||
      eb_json_get_int(file, "size", -1) != (int)strlen(text))
    return eb_fail(r->error, EB_BAD_PAYLOAD, r->name, "%.80s is not as its maker packed it", name);
  return EB_OK;
}

static eb_status check_payload(const reader *r)
{
  const eb_json *files = eb_json_get(r->manifest, "files");
  if (!eb_json_is_array(files) || !eb_json_is_array(r->sources))
    return refuse(r, EB_BAD_FORM, "files or sources is no list");
  if (eb_json_count(files) != eb_json_count(r->sources))
    return eb_fail(r->error, EB_BAD_PAYLOAD, r->name, "the manifest names %d sources, and %d are there",
                   eb_json_count(files), eb_json_count(r->sources));
  eb_status status = EB_OK;
  const eb_json *file = eb_json_first(files), *source = eb_json_first(r->sources);
  for (; status == EB_OK && file != NULL; file = eb_json_next(file), source = eb_json_next(source))
    status = check_source(r, file, source);
  return status;
}

/* Names are ASCII letters alone, so that no two look alike but by case, which some file systems take as the same. */
static eb_status check_name(const reader *r, const eb_bundle *b, const char *name)
{
  size_t at = b->source_count;
  if (!eb_bundle_is_name(name, at > 0))
    return eb_fail(r->error, EB_BAD_FORM, r->name,
                   "a source is called \"%.80s\"; letters, digits, - and _, then .lua, are wanted%s", name,
                   at > 0 ? ", behind lib/" : "");
  if (at == 0 && (strncmp(name, b->manifest.id, strlen(name) - 4) != 0 || strlen(b->manifest.id) != strlen(name) - 4))
    return eb_fail(r->error, EB_BAD_FORM, r->name, "the procedure %.40s is called \"%.80s\"", b->manifest.id, name);
  for (size_t i = 1; i < at; i++)
    if (strcasecmp(b->source[i].name + 2, name) == 0)
      return eb_fail(r->error, EB_BAD_FORM, r->name, "two sources are called \"%.80s\"", name);
  return EB_OK;
}

/* Where a runner wants "./lib/ours.lua", a bundle has "lib/ours.lua". */
static eb_status take_sources(const reader *r, eb_bundle *b)
{
  int count = eb_json_count(r->sources);
  if (count < 1 || count > EB_BUNDLE_FILES_MAX)
    return eb_fail(r->error, EB_BAD_FORM, r->name, "it holds %d sources; 1 to %d are allowed", count,
                   (int)EB_BUNDLE_FILES_MAX);
  for (const eb_json *s = eb_json_first(r->sources); s != NULL; s = eb_json_next(s)) {
    const char *name = eb_json_get_string(s, "name", ""), *text = eb_json_get_string(s, "text", "");
    eb_status status = check_name(r, b, name);
    if (status != EB_OK)
      return status;
    if (text[0] == '\0' || strlen(text) > EB_PROCEDURE_SOURCE_MAX)
      return eb_fail(r->error, EB_BAD_FORM, r->name, "%s is empty, or larger than %d KiB", name,
                     (int)EB_PROCEDURE_SOURCE_MAX / 1024);
    char *own = b->names[b->source_count];
    snprintf(own, EB_BUNDLE_NAME_SIZE, "%s%s", b->source_count > 0 ? "./" : "", name);
    b->source[b->source_count++] = (eb_source){.name = own, .text = text, .size = strlen(text)};
  }
  return EB_OK;
}

static void *allocate(const eb_host *host, size_t size)
{
  return host->allocate(host->context, NULL, size);
}

/* What was verified, put where it is found. */
static eb_status take_all(const reader *r, eb_bundle *b)
{
  eb_error met;
  eb_text text;
  b->layouts = allocate(r->host, EB_BUNDLE_LAYOUTS_MAX * sizeof *b->layouts);
  b->names = allocate(r->host, EB_BUNDLE_FILES_MAX * sizeof *b->names);
  if (b->layouts == NULL || b->names == NULL)
    return refuse(r, EB_OUT_OF_MEMORY, "out of memory");
  eb_status status = eb_manifest_read(r->manifest, &b->manifest, b->layouts, &met);
  if (status != EB_OK)
    return refuse(r, status, met.message);
  status = take_sources(r, b);
  if (status != EB_OK)
    return status;
  b->signature = eb_json_get_string(r->seal, "signature", "");
  eb_text_init(&text, r->host);
  eb_json_write_mail(&text, r->tree);
  if (text.failed)
    status = refuse(r, EB_OUT_OF_MEMORY, "out of memory");
  else
    eb_digest(text.bytes, text.size, b->digest);
  eb_text_clear(&text);
  return status;
}

static eb_status parse(reader *r, const char *text, size_t size)
{
  eb_error met;
  if (size > EB_BUNDLE_MAX)
    return eb_fail(r->error, EB_OUT_OF_RANGE, r->name, "this file is larger than %d KiB; no bundle is",
                   (int)EB_BUNDLE_MAX / 1024);
  eb_status status = check_beginning(r, text, size);
  if (status != EB_OK)
    return status;
  status = eb_json_parse_mail(r->host, r->name, text, size, &r->tree, &met);
  if (status == EB_OK || status == EB_OUT_OF_MEMORY)
    return status == EB_OK ? EB_OK : refuse(r, status, met.message);
  return eb_fail(r->error, EB_BAD_FORM, met.place, "%s", met.message);
}

eb_status eb_bundle_read(const eb_host *host, const char *name, const char *text, size_t size, eb_bundle *bundle,
                         eb_error *error)
{
  reader r = {.host = host, .name = name, .error = error};
  eb_bundle made = {.host = host};
  eb_status status = parse(&r, text, size);
  if (status == EB_OK)
    status = check_shape(&r);
  if (status == EB_OK)
    status = check_seal(&r);
  if (status == EB_OK)
    status = check_payload(&r);
  made.tree = r.tree;
  if (status == EB_OK)
    status = take_all(&r, &made);
  if (status == EB_OK)
    *bundle = made;
  else
    eb_bundle_clear(&made);
  return status;
}

void eb_bundle_clear(eb_bundle *bundle)
{
  if (bundle->host == NULL)
    return;
  bundle->host->allocate(bundle->host->context, bundle->layouts, 0);
  bundle->host->allocate(bundle->host->context, bundle->names, 0);
  eb_json_destroy(bundle->tree);
  *bundle = (eb_bundle){.host = NULL};
}

void eb_bundle_signed_bytes(const eb_bundle *bundle, eb_text *text)
{
  eb_text manifest;
  eb_text_init(&manifest, bundle->host);
  eb_json_write_mail(&manifest, eb_json_get(bundle->tree, "manifest"));
  eb_signed_bytes(text, EB_FOR_BUNDLE, eb_text_string(&manifest), manifest.size);
  text->failed = text->failed || manifest.failed;
  eb_text_clear(&manifest);
}
