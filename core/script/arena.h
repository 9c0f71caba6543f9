/* Arena: all memory of a locked-in process, taken from the kernel once, before the lock closes. */
#ifndef EB_SCRIPT_ARENA_H
#define EB_SCRIPT_ARENA_H

#include <stddef.h>
#include <stdint.h>

enum { ARENA_BINS = 32 };

typedef struct arena_block arena_block;

/* A block's sizes count units of 16 bytes; free blocks hang in the bin of their size's highest bit. */
typedef struct arena {
  arena_block *first;
  arena_block *bin[ARENA_BINS];
  uint32_t filled; /* one bit a bin that is not empty */
} arena;

/* Takes over `size` bytes at `memory` (from 1 KiB to 16 GiB, aligned to 16). */
void arena_init(arena *a, void *memory, size_t size);

/* As realloc(3): aligned to 16; size 0 frees and returns NULL; NULL and ENOMEM where there is no room. */
void *arena_allocate(arena *a, void *given, size_t size);

#endif
