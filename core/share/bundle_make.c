/* A bundle is made: its sources in order, the manifest over them, the seal over that.  Then it is read as its receiver
 * will read it, so that none is made that nobody can take. */
#include "manifest.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int by_name(const void *a, const void *b)
{
  return strcmp(((const eb_source *)a)->name, ((const eb_source *)b)->name);
}

static eb_status out_of_memory(eb_error *error)
{
  return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
}

/* What is told better here than by the reader. */
static eb_status check_sources(const eb_source *sources, size_t count, eb_error *error)
{
  if (count > EB_BUNDLE_FILES_MAX)
    return eb_fail(error, EB_OUT_OF_RANGE, "", "%zu sources; a bundle holds %d at most", count,
                   (int)EB_BUNDLE_FILES_MAX);
  for (size_t i = 0; i < count; i++) {
    int lines = 0;
    size_t bad = 0;
    const eb_source *s = &sources[i];
    for (size_t at = 0; at < s->size; at++)
      lines += s->text[at] == '\n';
    if (lines > EB_BUNDLE_LINES_MAX)
      return eb_fail(error, EB_OUT_OF_RANGE, s->name, "%d lines; a bundle takes %d of one file", lines,
                     (int)EB_BUNDLE_LINES_MAX);
    if (memchr(s->text, '\0', s->size) != NULL || !eb_utf8_valid(s->text, s->size, &bad))
      return eb_fail(error, EB_BAD_TEXT, s->name, "this is no UTF-8 text");
  }
  return EB_OK;
}

/* As the bundle has them; sorted[0] is the procedure, `main_name` its name there. */
static void sort_sources(const eb_source *sources, size_t count, const char *main_name, eb_source *sorted)
{
  for (size_t i = 0; i < count; i++) {
    sorted[i] = sources[i];
    if (i == 0)
      sorted[i].name = main_name;
    else if (strncmp(sources[i].name, "./", 2) == 0)
      sorted[i].name += 2;
  }
  qsort(sorted + 1, count - 1, sizeof *sorted, by_name);
}

static eb_json *sources_json(const eb_source *sources, size_t count)
{
  eb_json *list = eb_json_array();
  bool made = list != NULL;
  for (size_t i = 0; made && i < count; i++) {
    eb_json *one = eb_json_object();
    made = eb_json_set_string(one, "name", sources[i].name) && eb_json_set_string(one, "text", sources[i].text);
    made = eb_json_add(list, one) && made;
  }
  if (made)
    return list;
  eb_json_destroy(list);
  return NULL;
}

static eb_status seal(const eb_host *host, const eb_json *manifest, const eb_secret_key *key, eb_json *json,
                      eb_error *error)
{
  eb_text text, bytes;
  char signature[EB_SIGNATURE_TEXT_SIZE], digest[EB_DIGEST_SIZE];
  eb_text_init(&text, host);
  eb_text_init(&bytes, host);
  eb_json_write_mail(&text, manifest);
  eb_signed_bytes(&bytes, EB_FOR_BUNDLE, eb_text_string(&text), text.size);
  eb_status status = EB_OK;
  if (text.failed || bytes.failed)
    status = out_of_memory(error);
  else if (text.size > EB_SIGNED_MAX)
    status = eb_fail(error, EB_OUT_OF_RANGE, "", "the manifest is too large");
  else
    status = eb_sign(host, EB_FOR_BUNDLE, text.bytes, text.size, key, signature, error);
  if (status == EB_OK) {
    eb_digest(bytes.bytes, bytes.size, digest);
    if (!eb_json_set_string(json, "purpose", eb_purpose_word(EB_FOR_BUNDLE)) ||
        !eb_json_set_string(json, "key", key->public_key.text) || !eb_json_set_string(json, "digest", digest) ||
        !eb_json_set_string(json, "signature", signature))
      status = out_of_memory(error);
  }
  eb_text_clear(&text);
  eb_text_clear(&bytes);
  return status;
}

static eb_status fill(const eb_host *host, const eb_manifest *manifest, const eb_source *sources, size_t count,
                      const eb_secret_key *key, eb_json *json, eb_error *error)
{
  eb_json *sealed = eb_json_object(), *told = eb_manifest_json(manifest, sources, count);
  eb_status status = sealed == NULL || told == NULL ? out_of_memory(error) : seal(host, told, key, sealed, error);
  if (status != EB_OK) {
    eb_json_destroy(sealed);
    eb_json_destroy(told);
    return status;
  }
  bool made =
      eb_json_set_string(json, "format", eb_bundle_format) && eb_json_set_number(json, "version", EB_BUNDLE_VERSION);
  made = eb_json_set(json, "manifest", told) && made;
  made = eb_json_set(json, "sources", sources_json(sources, count)) && made;
  made = eb_json_set(json, "seal", sealed) && made;
  return made ? EB_OK : out_of_memory(error);
}

static eb_status read_back(const eb_host *host, const eb_text *text, eb_error *error)
{
  eb_bundle bundle = {.host = NULL};
  eb_error met;
  eb_status status = eb_bundle_read(host, "the bundle", text->bytes, text->size, &bundle, &met);
  eb_bundle_clear(&bundle);
  if (status == EB_BAD_FORM)
    return eb_fail(error, EB_OUT_OF_RANGE, "", "nobody could read it: %s", met.message);
  return status == EB_OK ? EB_OK : eb_fail(error, status, "", "%s", met.message);
}

eb_status eb_bundle_make(const eb_host *host, const eb_manifest *manifest, const eb_source *sources, size_t count,
                         const eb_secret_key *key, eb_text *text, eb_error *error)
{
  eb_manifest signed_by = *manifest;
  eb_source sorted[EB_BUNDLE_FILES_MAX];
  char main_name[EB_BUNDLE_NAME_SIZE];
  eb_text made;
  assert(count > 0);
  eb_status status = check_sources(sources, count, error);
  if (status != EB_OK)
    return status;
  snprintf(main_name, sizeof main_name, "%s.lua", manifest->id);
  sort_sources(sources, count, main_name, sorted);
  signed_by.key = key->public_key;
  eb_json *json = eb_json_object();
  status = json == NULL ? out_of_memory(error) : fill(host, &signed_by, sorted, count, key, json, error);
  eb_text_init(&made, host);
  if (status == EB_OK) {
    eb_json_write_mail(&made, json);
    status = made.failed ? out_of_memory(error) : read_back(host, &made, error);
  }
  if (status == EB_OK)
    eb_text_add_bytes(text, made.bytes, made.size);
  eb_text_clear(&made);
  eb_json_destroy(json);
  return status;
}
