/* Digest: SHA-256 (FIPS 180-4), as 64 lower-case hexadecimal digits. */
#ifndef EVENBORE_DIGEST_H
#define EVENBORE_DIGEST_H

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

enum { EB_DIGEST_SIZE = 65 }; /* with the NUL at its end */

void eb_digest(const void *bytes, size_t size, char digest[EB_DIGEST_SIZE]);

/* The digest of the 64 characters of `previous` followed by the bytes; an empty
 * `previous` counts as no characters.  `previous` and `digest` may be the same. */
void eb_digest_chain(const char *previous, const void *bytes, size_t size, char digest[EB_DIGEST_SIZE]);

#ifdef __cplusplus
}
#endif
#endif
