#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "arena.h"

#include <errno.h>

enum { SIZE = 1 << 20, SLOTS = 400, ROUNDS = 200000 };

typedef struct slot {
  unsigned char *bytes;
  size_t size;
  unsigned char mark;
} slot;

/* A fixed sequence of Park and Miller, Communications of the ACM 31, 1988. */
static uint64_t state_of_dice = 20261;
static size_t dice(size_t sides)
{
  state_of_dice = state_of_dice * 48271 % 2147483647;
  return (size_t)state_of_dice % sides;
}

static void check_marks(const slot *s)
{
  for (size_t i = 0; i < s->size; i++)
    if (s->bytes[i] != s->mark)
      fail_msg("byte %zu of %zu was written by another block", i, s->size);
}

/* Fills the slot anew to `size` bytes and checks what it kept. */
static void resize(arena *a, slot *s, size_t size)
{
  check_marks(s);
  unsigned char *moved = arena_allocate(a, s->bytes, size);
  if (size > 0 && moved == NULL) {
    assert_int_equal(errno, ENOMEM);
    check_marks(s);
    return;
  }
  assert_int_equal((uintptr_t)moved % 16, 0);
  s->size = size < s->size ? size : s->size;
  s->bytes = moved;
  check_marks(s);
  s->size = size;
  s->mark = (unsigned char)dice(256);
  if (size > 0)
    memset(moved, s->mark, size);
}

static size_t any_size(void)
{
  static const size_t most[] = {24, 64, 200, 1000, 9000, 120000};
  return dice(most[dice(sizeof most / sizeof most[0])]) + 1;
}

static void blocks_keep_apart_and_are_joined_again(void **state)
{
  (void)state;
  void *memory = aligned_alloc(16, SIZE);
  arena a;
  arena_init(&a, memory, SIZE);
  static slot slots[SLOTS];
  int refused = 0;
  for (int i = 0; i < ROUNDS; i++) {
    slot *s = &slots[dice(SLOTS)];
    size_t wanted = dice(3) == 0 ? 0 : any_size();
    resize(&a, s, wanted);
    refused += s->size != wanted;
  }
  print_message("%d of %d requests found no room\n", refused, (int)ROUNDS);
  assert_true(refused > 0 && refused < ROUNDS / 2);
  for (int i = 0; i < SLOTS; i++)
    resize(&a, &slots[i], 0);
  void *all = arena_allocate(&a, NULL, SIZE - 64);
  assert_non_null(all);
  assert_null(arena_allocate(&a, NULL, 64));
  arena_allocate(&a, all, 0);
  free(memory);
}

static void what_cannot_be_is_refused(void **state)
{
  (void)state;
  void *memory = aligned_alloc(16, 4096);
  arena a;
  arena_init(&a, memory, 4096);
  assert_null(arena_allocate(&a, NULL, SIZE_MAX));
  assert_null(arena_allocate(&a, NULL, (size_t)1 << 33));
  assert_null(arena_allocate(&a, NULL, 4096));
  assert_null(arena_allocate(&a, NULL, 0));
  unsigned char *first = arena_allocate(&a, NULL, 100);
  memset(first, 7, 100);
  assert_null(arena_allocate(&a, first, 8192));
  assert_int_equal(first[99], 7);
  assert_ptr_equal(arena_allocate(&a, first, 3000), first); /* it grows where it lies */
  free(memory);
}

/* After whatever was done since, blocks of before are as they were, and as much can be had again. */
static void a_copy_brings_everything_back(void **state)
{
  (void)state;
  arena a;
  arena_copy copy;
  static slot slots[SLOTS], before[SLOTS];
  void *memory = aligned_alloc(16, SIZE);
  arena_init(&a, memory, SIZE);
  memset(slots, 0, sizeof slots);
  for (int i = 0; i < 2000; i++)
    resize(&a, &slots[dice(SLOTS)], dice(500));
  void *bytes = malloc(arena_copy_size(&a));
  assert_true(arena_copy_size(&a) < SIZE / 2);
  arena_copy_make(&a, bytes, &copy);
  memcpy(before, slots, sizeof slots);
  for (int round = 0; round < 3; round++) {
    for (int i = 0; i < 20000; i++)
      resize(&a, &slots[dice(SLOTS)], dice(round == 1 ? 10000 : 500));
    arena_copy_restore(&copy, &a);
    memcpy(slots, before, sizeof slots);
    for (int i = 0; i < SLOTS; i++)
      check_marks(&slots[i]);
  }
  for (int i = 0; i < SLOTS; i++)
    arena_allocate(&a, slots[i].bytes, 0);
  void *all = arena_allocate(&a, NULL, SIZE - 64);
  assert_non_null(all);
  free(bytes);
  free(memory);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(blocks_keep_apart_and_are_joined_again),
      cmocka_unit_test(a_copy_brings_everything_back),
      cmocka_unit_test(what_cannot_be_is_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
