/* A bundle's tree sealed anew by the sample's maker, whatever stands in it: what a maker who means harm can sign. */
#ifndef EB_TESTS_SHARE_RESEAL_H
#define EB_TESTS_SHARE_RESEAL_H

#include "share/sample.h"

#include "evenbore/json.h"

/* Digests that agree with the sources, as far as there are any. */
static inline bool reseal_digests(eb_json *tree)
{
  eb_json *files = eb_json_member(eb_json_member(tree, "manifest"), "files");
  const eb_json *sources = eb_json_get(tree, "sources");
  for (int i = 0; i < eb_json_count(files) && i < eb_json_count(sources); i++) {
    char digest[EB_DIGEST_SIZE];
    const char *text = eb_json_get_string(eb_json_at(sources, i), "text", "");
    eb_json *file = eb_json_element(files, i);
    eb_digest(text, strlen(text), digest);
    if (eb_json_is_object(file) &&
        !(eb_json_set_number(file, "size", (double)strlen(text)) && eb_json_set_string(file, "digest", digest)))
      return false;
  }
  return true;
}

static inline bool reseal_signature(eb_json *tree, const eb_secret_key *key)
{
  eb_json *seal = eb_json_member(tree, "seal");
  char signature[EB_SIGNATURE_TEXT_SIZE], digest[EB_DIGEST_SIZE];
  eb_text text, bytes;
  eb_text_init(&text, eb_host_system());
  eb_text_init(&bytes, eb_host_system());
  eb_json_write_mail(&text, eb_json_get(tree, "manifest"));
  eb_signed_bytes(&bytes, EB_FOR_BUNDLE, eb_text_string(&text), text.size);
  eb_digest(bytes.bytes, bytes.size, digest);
  bool done = eb_sign(eb_host_system(), EB_FOR_BUNDLE, text.bytes, text.size, key, signature, NULL) == EB_OK &&
              eb_json_set_string(seal, "key", key->public_key.text) && eb_json_set_string(seal, "digest", digest) &&
              eb_json_set_string(seal, "signature", signature);
  eb_text_clear(&text);
  eb_text_clear(&bytes);
  return done;
}

/* What has no manifest and no seal stays as it is. False when memory runs out. */
static inline bool reseal(eb_json *tree)
{
  eb_secret_key key = sample_key(7);
  eb_json *manifest = eb_json_member(tree, "manifest"), *maker = eb_json_member(manifest, "maker");
  if (!eb_json_is_object(manifest) || !eb_json_is_object(eb_json_get(tree, "seal")))
    return true;
  if (eb_json_is_object(maker) && !eb_json_set_string(maker, "key", key.public_key.text))
    return false;
  return reseal_digests(tree) && reseal_signature(tree, &key);
}

#endif
