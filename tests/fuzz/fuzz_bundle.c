/* A bundle as it may come by mail or on a stick: as it is, or, where it begins with ~, in any spelling of JSON and
 * sealed anew by a maker who means harm, so that what stands behind the seal is read too. */
#include "share/sample.h"

#include "fuzz.h"

#include "evenbore/json.h"

/* Digests that agree with the sources, as far as there are any. */
static void agree(eb_json *tree)
{
  eb_json *manifest = eb_json_member(tree, "manifest"), *files = eb_json_member(manifest, "files");
  const eb_json *sources = eb_json_get(tree, "sources");
  for (int i = 0; i < eb_json_count(files) && i < eb_json_count(sources); i++) {
    char digest[EB_DIGEST_SIZE];
    const char *text = eb_json_get_string(eb_json_at(sources, i), "text", "");
    eb_json *file = eb_json_element(files, i);
    if (!eb_json_is_object(file))
      continue;
    eb_digest(text, strlen(text), digest);
    must(eb_json_set_number(file, "size", (double)strlen(text)) && eb_json_set_string(file, "digest", digest));
  }
}

static void seal(eb_json *tree)
{
  eb_secret_key key = sample_key(7);
  eb_json *manifest = eb_json_member(tree, "manifest"), *seal = eb_json_member(tree, "seal");
  char signature[EB_SIGNATURE_TEXT_SIZE], digest[EB_DIGEST_SIZE];
  eb_text text, bytes;
  if (!eb_json_is_object(manifest) || !eb_json_is_object(seal))
    return;
  if (eb_json_is_object(eb_json_get(manifest, "maker")))
    must(eb_json_set_string(eb_json_member(manifest, "maker"), "key", key.public_key.text));
  eb_text_init(&text, eb_host_system());
  eb_text_init(&bytes, eb_host_system());
  eb_json_write_mail(&text, manifest);
  must(eb_sign(eb_host_system(), EB_FOR_BUNDLE, text.bytes, text.size, &key, signature, NULL) == EB_OK);
  eb_signed_bytes(&bytes, EB_FOR_BUNDLE, text.bytes, text.size);
  eb_digest(bytes.bytes, bytes.size, digest);
  must(eb_json_set_string(seal, "key", key.public_key.text) && eb_json_set_string(seal, "digest", digest) &&
       eb_json_set_string(seal, "signature", signature));
  eb_text_clear(&text);
  eb_text_clear(&bytes);
}

/* Pieces of texts are joined, as only the one spelling has them. */
static bool add_sealed(eb_text *text, const char *data, size_t size)
{
  eb_json *tree = NULL;
  if (eb_json_parse(data, size, &tree, NULL) != EB_OK)
    return false;
  agree(tree);
  seal(tree);
  eb_json_write_mail(text, tree);
  eb_json_destroy(tree);
  return true;
}

static void must_be_shown(const char *text, size_t most)
{
  eb_text safe;
  eb_text_init(&safe, eb_host_system());
  eb_text_add_safe(&safe, text, strlen(text), false);
  must(strcmp(eb_text_string(&safe), text) == 0 && text[0] != '\0' && strlen(text) <= most);
  eb_text_clear(&safe);
}

static void look_at(const eb_bundle *b)
{
  const eb_manifest *m = &b->manifest;
  must_be_shown(m->id, EB_ID_SIZE - 1);
  must_be_shown(m->title, EB_BUNDLE_TITLE_MAX);
  must_be_shown(m->maker, EB_BUNDLE_MAKER_MAX);
  must_be_shown(m->licence, EB_BUNDLE_TITLE_MAX);
  must(m->revision >= 1 && m->revision <= EB_BUNDLE_REVISION_MAX && m->layout_count <= EB_BUNDLE_LAYOUTS_MAX);
  for (int i = 0; i < m->hazard_count; i++)
    must_be_shown(m->hazards[i], EB_BUNDLE_TEXT_MAX);
  must(b->source_count >= 1 && b->source_count <= EB_BUNDLE_FILES_MAX);
  for (size_t i = 0; i < b->source_count; i++) {
    const char *name = b->source[i].name;
    must(strlen(b->source[i].text) == b->source[i].size && b->source[i].size <= EB_PROCEDURE_SOURCE_MAX);
    must(i == 0 ? strchr(name, '/') == NULL : strncmp(name, "./lib/", 6) == 0 && strchr(name + 6, '/') == NULL);
    must(strstr(name + (i > 0), "..") == NULL);
  }
}

/* What was taken has one spelling, and it is the same bundle. */
static void must_be_the_same(const eb_bundle *b)
{
  eb_text text;
  eb_bundle again;
  eb_error error;
  eb_text_init(&text, eb_host_system());
  eb_json_write_mail(&text, b->tree);
  must(eb_bundle_read(eb_host_system(), "again", text.bytes, text.size, &again, &error) == EB_OK);
  must(strcmp(again.digest, b->digest) == 0 && strcmp(again.signature, b->signature) == 0);
  eb_bundle_clear(&again);
  eb_text_clear(&text);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  eb_bundle bundle;
  eb_error error = {.status = EB_OK};
  eb_text text;
  eb_text_init(&text, eb_host_system());
  if (size == 0 || data[0] != '~' || !add_sealed(&text, (const char *)data + 1, size - 1))
    eb_text_add_bytes(&text, data, size);
  char *bytes = malloc(text.size > 0 ? text.size : 1); /* no NUL behind it: a reader that goes too far is seen */
  must(bytes != NULL);
  memcpy(bytes, text.bytes, text.size);
  eb_status status = eb_bundle_read(eb_host_system(), "x" EB_BUNDLE_ENDING, bytes, text.size, &bundle, &error);
  free(bytes);
  eb_text_clear(&text);
  if (status != EB_OK) {
    must_be_clear(&error, status);
    return 0;
  }
  look_at(&bundle);
  must_be_the_same(&bundle);
  eb_bundle_clear(&bundle);
  return 0;
}
