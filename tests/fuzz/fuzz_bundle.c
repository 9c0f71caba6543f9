/* A bundle as it may come by mail or on a stick: as it is, or, where it begins with ~, in any spelling of JSON and
 * sealed anew by a maker who means harm, so that what stands behind the seal is read too. */
#include "share/reseal.h"

#include "fuzz.h"

/* Pieces of texts are joined, as only the one spelling has them. */
static bool add_sealed(eb_text *text, const char *data, size_t size)
{
  eb_json *tree = NULL;
  if (eb_json_parse(data, size, &tree, NULL) != EB_OK)
    return false;
  must(reseal(tree));
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
