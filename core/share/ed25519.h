/* Ed25519: the bare signature of RFC 8032, which only signing.c may use: all that leaves this room is bound to a
 * purpose. */
#ifndef EVENBORE_ED25519_H
#define EVENBORE_ED25519_H

#include <stdbool.h>
#include <stddef.h>

enum { EB_ED25519_KEY = 32, EB_ED25519_SIGNATURE = 64 };

void eb_ed25519_public(const unsigned char seed[EB_ED25519_KEY], unsigned char public_key[EB_ED25519_KEY]);
void eb_ed25519_sign(const unsigned char seed[EB_ED25519_KEY], const void *bytes, size_t size,
                     unsigned char signature[EB_ED25519_SIGNATURE]);

/* Keys of small order and signatures that are not in their one reduced form are refused. */
bool eb_ed25519_check(const unsigned char public_key[EB_ED25519_KEY], const void *bytes, size_t size,
                      const unsigned char signature[EB_ED25519_SIGNATURE]);

#endif
