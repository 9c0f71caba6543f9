/* Arena: all memory of a locked-in process, taken from the kernel once, before the lock closes. */
#ifndef EB_SCRIPT_ARENA_H
#define EB_SCRIPT_ARENA_H

#include <stddef.h>
#include <stdint.h>

enum { ARENA_BINS = 32, ARENA_SMALL = 32 /* units; the sizes that most trees and tables are made of */ };

typedef struct arena_block arena_block;

/* A block's sizes count units of 16 bytes; free blocks hang in the bin of their size's highest bit.  A small one that
 * is given back is first laid by as it is, for the next one of its size: it is joined with its neighbours only where
 * there is no room else. */
typedef struct arena {
  arena_block *first;
  arena_block *bin[ARENA_BINS];
  uint32_t filled;                       /* one bit a bin that is not empty */
  arena_block *laid_by[ARENA_SMALL + 1]; /* by size, linked by `next`; they count as used */
} arena;

/* Takes over `size` bytes at `memory` (from 1 KiB to 16 GiB, aligned to 16). */
void arena_init(arena *a, void *memory, size_t size);

/* As realloc(3): aligned to 16; size 0 frees and returns NULL; NULL and ENOMEM where there is no room. */
void *arena_allocate(arena *a, void *given, size_t size);

/* What lies in an arena at one moment, to begin from there again and again. */
typedef struct arena_copy {
  arena state;
  size_t size; /* of the bytes: all blocks but the inside of the free one at the end */
  void *bytes;
  arena_block *rest; /* that one */
} arena_copy;

/* The size first, then the copy into as many bytes of the caller's. */
size_t arena_copy_size(const arena *a);
void arena_copy_make(const arena *a, void *bytes, arena_copy *copy);

/* The arena that was copied is as it was then: what was handed out since is no more. */
void arena_copy_restore(const arena_copy *copy, arena *a);

#endif
