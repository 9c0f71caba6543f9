/* A bundle taken apart, for programs that know nothing of bundles. */
#include "inspect.h"

#include "evenbore/file.h"

#include <string.h>

static eb_status write_part(const eb_run *run, const char *folder, const char *name, const void *bytes, size_t size,
                            eb_error *error)
{
  char path[EB_PATH_SIZE];
  eb_status status = eb_path_join(folder, name, path, error);
  return status == EB_OK ? eb_file_create(run->host, path, bytes, size, 0666, error) : status;
}

static eb_status write_text(const eb_run *run, const char *folder, const char *name, eb_text *text, eb_error *error)
{
  eb_status status = text->failed ? eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory")
                                  : write_part(run, folder, name, text->bytes, text->size, error);
  eb_text_clear(text);
  return status;
}

static eb_status write_seal(const eb_run *run, const eb_bundle *b, const char *folder, eb_error *error)
{
  eb_text text;
  char pem[EB_KEY_PEM_SIZE];
  unsigned char signature[EB_SIGNATURE_BYTES];
  eb_text_init(&text, run->host);
  eb_bundle_signed_bytes(b, &text);
  eb_status status = write_text(run, folder, "signed", &text, error);
  if (status == EB_OK && !eb_signature_bytes(b->signature, signature))
    status = eb_fail(error, EB_BAD_SIGNATURE, "", "there is no signature");
  if (status == EB_OK)
    status = write_part(run, folder, "signature", signature, sizeof signature, error);
  eb_public_key_pem(&b->manifest.key, pem);
  return status == EB_OK ? write_part(run, folder, "maker.pem", pem, strlen(pem), error) : status;
}

/* The name of a source as a bundle has it: "./lib/ours.lua" is lib/ours.lua there. */
static const char *name_of(const eb_source *source)
{
  return strncmp(source->name, "./", 2) == 0 ? source->name + 2 : source->name;
}

static eb_status write_sources(const eb_run *run, const eb_bundle *b, const char *folder, eb_error *error)
{
  eb_text sums;
  char library[EB_PATH_SIZE];
  eb_status status = eb_path_join(folder, "lib", library, error);
  eb_text_init(&sums, run->host);
  if (status == EB_OK && b->source_count > 1)
    status = eb_folder_make(run->host, library, 0777, error);
  for (size_t i = 0; status == EB_OK && i < b->source_count; i++) {
    char digest[EB_DIGEST_SIZE];
    const eb_source *s = &b->source[i];
    eb_digest(s->text, s->size, digest);
    eb_text_printf(&sums, "%s  %s\n", digest, name_of(s));
    status = write_part(run, folder, name_of(s), s->text, s->size, error);
  }
  if (status == EB_OK)
    return write_text(run, folder, "SHA256SUMS", &sums, error);
  eb_text_clear(&sums);
  return status;
}

eb_status eb_inspect_take_apart(const eb_run *run, const eb_bundle *bundle, const char *folder, eb_error *error)
{
  if (run->host->files.kind(run->host->context, folder) != EB_PATH_NOTHING)
    return eb_fail(error, EB_EXISTS, folder, "is there already; name a folder that is not there yet");
  eb_status status = eb_folder_make(run->host, folder, 0777, error);
  if (status == EB_OK)
    status = write_seal(run, bundle, folder, error);
  if (status == EB_OK)
    status = write_sources(run, bundle, folder, error);
  return status;
}
