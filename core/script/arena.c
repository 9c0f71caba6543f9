#include "arena.h"

#include <assert.h>
#include <errno.h>
#include <stdbool.h>
#include <string.h>

/* Blocks lie one behind the other, each with its own size and that of the one
 * before, so that one that is free can be joined with its neighbours.  The last
 * one has no size and is never free: nothing is joined beyond it. */
struct arena_block {
  uint32_t before;          /* 0: this is the first */
  uint32_t size;            /* with the bit USED where it is handed out */
  arena_block *next, *last; /* in its bin; here begins what is handed out */
};

enum {
  UNIT = 16,
  HEAD = offsetof(arena_block, next),
  LOOKED_AT = 8 /* blocks of a bin that may be too small; all of the next bins are large enough */
};
static const uint32_t least = 2; /* units: head and both links */
static const uint32_t USED = 1U << 31;

static uint32_t size_of(const arena_block *block)
{
  return block->size & ~USED;
}

static bool is_free(const arena_block *block)
{
  return (block->size & USED) == 0;
}

static unsigned bin_of(uint32_t units)
{
  return 31U - (unsigned)__builtin_clz(units);
}

static arena_block *behind(arena_block *block)
{
  return (arena_block *)((char *)block + (size_t)size_of(block) * UNIT);
}

static arena_block *before(arena_block *block)
{
  return (arena_block *)((char *)block - (size_t)block->before * UNIT);
}

static void hang_in(arena *a, arena_block *block)
{
  unsigned bin = bin_of(size_of(block));
  block->last = NULL;
  block->next = a->bin[bin];
  if (block->next != NULL)
    block->next->last = block;
  a->bin[bin] = block;
  a->filled |= 1U << bin;
}

static void take_out(arena *a, arena_block *block)
{
  unsigned bin = bin_of(size_of(block));
  if (block->next != NULL)
    block->next->last = block->last;
  if (block->last != NULL)
    block->last->next = block->next;
  else
    a->bin[bin] = block->next;
  if (a->bin[bin] == NULL)
    a->filled &= ~(1U << bin);
}

/* In units, with USED or without. */
static void set_size(arena_block *block, uint32_t size)
{
  block->size = size;
  behind(block)->before = size_of(block);
}

/* Memory that is handed out is aligned because every head lies half a unit before it. */
void arena_init(arena *a, void *memory, size_t size)
{
  assert((uintptr_t)memory % UNIT == 0 && size >= 1024 && size / UNIT < (size_t)1 << 30);
  *a = (arena){.first = (arena_block *)((char *)memory + UNIT - HEAD)};
  uint32_t units = (uint32_t)(size / UNIT) - 2; /* half a unit in front, and the last block's head */
  *a->first = (arena_block){.before = 0};
  set_size(a->first, units);
  arena_block *last = behind(a->first);
  last->size = USED;
  hang_in(a, a->first);
}

static arena_block *find(const arena *a, uint32_t units)
{
  unsigned bin = bin_of(units);
  arena_block *block = a->bin[bin];
  for (int i = 0; i < LOOKED_AT && block != NULL; i++, block = block->next)
    if (size_of(block) >= units)
      return block;
  uint32_t larger = bin + 1 >= ARENA_BINS ? 0 : a->filled & ~((2U << bin) - 1);
  return larger == 0 ? NULL : a->bin[__builtin_ctz(larger)];
}

/* Gives back what a used block has beyond `units`. */
static void cut(arena *a, arena_block *block, uint32_t units)
{
  uint32_t rest = size_of(block) - units;
  if (rest < least)
    return;
  set_size(block, units | USED);
  arena_block *free_block = behind(block);
  set_size(free_block, rest);
  arena_block *next = behind(free_block);
  if (is_free(next)) {
    take_out(a, next);
    set_size(free_block, rest + size_of(next));
  }
  hang_in(a, free_block);
}

static void release(arena *a, arena_block *block)
{
  arena_block *next = behind(block);
  set_size(block, size_of(block));
  if (is_free(next)) {
    take_out(a, next);
    set_size(block, size_of(block) + size_of(next));
  }
  if (block->before != 0 && is_free(before(block))) {
    arena_block *joined = before(block);
    take_out(a, joined);
    set_size(joined, size_of(joined) + size_of(block));
    block = joined;
  }
  hang_in(a, block);
}

/* Whether the used block has `units` now, perhaps by taking the free one behind it. */
static bool stretch(arena *a, arena_block *block, uint32_t units)
{
  arena_block *next = behind(block);
  if (size_of(block) < units && is_free(next) && size_of(block) + size_of(next) >= units) {
    take_out(a, next);
    set_size(block, (size_of(block) + size_of(next)) | USED);
  }
  if (size_of(block) < units)
    return false;
  cut(a, block, units);
  return true;
}

static void join_all(arena *a)
{
  for (uint32_t units = 0; units <= ARENA_SMALL; units++)
    while (a->laid_by[units] != NULL) {
      arena_block *block = a->laid_by[units];
      a->laid_by[units] = block->next;
      release(a, block);
    }
}

static void give_back(arena *a, arena_block *block)
{
  if (size_of(block) > ARENA_SMALL) {
    release(a, block);
    return;
  }
  block->next = a->laid_by[size_of(block)];
  a->laid_by[size_of(block)] = block;
}

static arena_block *take(arena *a, uint32_t units)
{
  arena_block *block = units <= ARENA_SMALL ? a->laid_by[units] : NULL;
  if (block != NULL) {
    a->laid_by[units] = block->next;
    return block;
  }
  block = find(a, units);
  if (block == NULL) {
    join_all(a);
    block = find(a, units);
  }
  if (block == NULL)
    return NULL;
  take_out(a, block);
  block->size |= USED;
  cut(a, block, units);
  return block;
}

void *arena_allocate(arena *a, void *given, size_t size)
{
  arena_block *block = given == NULL ? NULL : (arena_block *)((char *)given - HEAD);
  if (size == 0) {
    if (block != NULL)
      give_back(a, block);
    return NULL;
  }
  uint32_t units = least;
  if (size > least * UNIT - HEAD)
    units = size >= (size_t)UNIT << 30 ? 1U << 30 : (uint32_t)((size + HEAD + UNIT - 1) / UNIT);
  if (block != NULL && stretch(a, block, units))
    return given;
  arena_block *taken = take(a, units);
  if (taken == NULL) {
    errno = ENOMEM;
    return NULL;
  }
  void *handed = (char *)taken + HEAD;
  if (block != NULL) {
    memcpy(handed, given, (size_t)size_of(block) * UNIT - HEAD);
    give_back(a, block);
  }
  return handed;
}

/* Where the memory of the arena begins. */
static char *beginning(const arena *a)
{
  return (char *)a->first - (UNIT - HEAD);
}

static arena_block *last_of(const arena *a)
{
  arena_block *block = a->first;
  while (size_of(behind(block)) != 0)
    block = behind(block);
  return block;
}

size_t arena_copy_size(const arena *a)
{
  arena_block *rest = last_of(a);
  char *end = is_free(rest) ? (char *)(rest + 1) : (char *)behind(rest);
  return (size_t)(end - beginning(a));
}

void arena_copy_make(const arena *a, void *bytes, arena_copy *copy)
{
  *copy = (arena_copy){.state = *a, .size = arena_copy_size(a), .bytes = bytes, .rest = last_of(a)};
  memcpy(bytes, beginning(a), copy->size);
}

void arena_copy_restore(const arena_copy *copy, arena *a)
{
  *a = copy->state;
  memcpy(beginning(a), copy->bytes, copy->size);
  set_size(copy->rest, copy->rest->size); /* the head behind it lies beyond what was copied */
}
