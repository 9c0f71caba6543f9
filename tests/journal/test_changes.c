/* A session's file cut at every byte, and with every bit flipped: what is read is never silently something else. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "memory_disk.h"
#include "sample.h"

static const char session[] = "d/s";

typedef struct bench {
  memory_disk disk;
  eb_host host;
  char *bytes; /* of the whole session, */
  size_t size;
  size_t end[SAMPLE_RECORDS + 1]; /* and where its lines end, newline included */
} bench;

/* How many lines end at or before the offset. */
static int lines_before(const bench *b, size_t offset)
{
  int lines = 0;
  while (lines <= SAMPLE_RECORDS && b->end[lines] <= offset)
    lines++;
  return lines;
}

static void put(bench *b, const char *bytes, size_t size)
{
  memory_clear(&b->disk);
  memory_put(&b->disk, session, bytes, size);
}

/* The first `records` are those of the session, byte for byte by their digests. */
static void check_prefix(const eb_journal *journal, int records)
{
  assert_true(eb_journal_count(journal) >= (size_t)records);
  int recovered;
  assert_true(sample_count(journal, &recovered) >= records);
}

static void check_cut(bench *b, size_t cut)
{
  int whole = lines_before(b, cut);
  size_t torn = cut - (whole == 0 ? 0 : b->end[whole - 1]);
  put(b, b->bytes, cut);
  eb_journal *journal = NULL;
  eb_recovery recovery;
  eb_status status = eb_journal_open(&b->host, session, &journal, &recovery, NULL);
  if (whole == 0) {
    assert_int_equal(status, EB_NOT_JOURNAL);
    return;
  }
  assert_int_equal(status, EB_OK);
  assert_int_equal(recovery.records, whole);
  assert_int_equal(recovery.torn_bytes, torn);
  assert_int_equal(eb_journal_count(journal), whole + (torn > 0 ? 1 : 0));
  check_prefix(journal, whole);
  if (torn > 0) {
    const eb_json *record = eb_journal_record(journal, (size_t)whole);
    assert_string_equal(eb_json_get_string(record, "kind", ""), "recovered");
    assert_true(eb_json_get_number(record, "bytes", 0) == (double)torn);
    assert_string_equal(eb_json_get_string(record, "kept", ""), "s.torn-1");
    assert_string_equal(recovery.kept, "d/s.torn-1");
    const memory_file *kept = memory_get(&b->disk, recovery.kept);
    assert_int_equal(kept->size, torn);
    assert_memory_equal(kept->live, b->bytes + cut - torn, torn);
  } else
    assert_string_equal(recovery.kept, "");
  sample_ledger ledger = {.acknowledged = whole};
  assert_true(sample_append(journal, whole, whole, &ledger));
  char digest[EB_DIGEST_SIZE];
  memcpy(digest, eb_journal_digest(journal), sizeof digest);
  size_t count = eb_journal_count(journal);
  eb_journal_close(journal);
  assert_int_equal(eb_journal_open(&b->host, session, &journal, &recovery, NULL), EB_OK);
  assert_int_equal(recovery.torn_bytes, 0);
  assert_int_equal(eb_journal_count(journal), count);
  assert_string_equal(eb_journal_digest(journal), digest);
  eb_journal_close(journal);
}

static void every_cut_keeps_what_is_whole(void **state)
{
  bench *b = *state;
  for (size_t cut = 0; cut < b->size; cut++)
    check_cut(b, cut);
  print_message("%zu cuts\n", b->size);
}

static void zeros_behind_the_last_record_are_a_torn_end(void **state)
{
  bench *b = *state;
  size_t zeros = (size_t)EB_JOURNAL_LINE_MAX + 4096; /* more than any record has */
  char *bytes = calloc(1, b->size + zeros);
  assert_non_null(bytes);
  memcpy(bytes, b->bytes, b->size);
  put(b, bytes, b->size + zeros);
  free(bytes);
  eb_journal *journal = NULL;
  eb_recovery recovery;
  assert_int_equal(eb_journal_open(&b->host, session, &journal, &recovery, NULL), EB_OK);
  assert_int_equal(recovery.torn_bytes, zeros);
  check_prefix(journal, SAMPLE_RECORDS + 1);
  assert_int_equal(memory_get(&b->disk, recovery.kept)->size, zeros);
  eb_journal_close(journal);
}

/* Damage in line `line` (from 0): the file stays as it is, and what stands before the line can be read. */
static void check_damage(bench *b, int line, size_t at)
{
  eb_journal *journal = NULL;
  eb_recovery recovery;
  eb_error error = {0};
  char *before = memcpy(malloc(b->size), memory_get(&b->disk, session)->live, b->size);
  eb_status status = eb_journal_open(&b->host, session, &journal, &recovery, &error);
  bool known = status == EB_DAMAGED && recovery.damaged_record == (size_t)line + 1;
  if (line == 0)
    known = known || status == EB_NOT_JOURNAL || status == EB_TOO_NEW;
  if (!known)
    fail_msg("byte %zu in record %d: status %s, record %zu", at, line + 1, eb_status_word(status),
             recovery.damaged_record);
  assert_int_equal(memory_get(&b->disk, session)->size, b->size);
  assert_memory_equal(memory_get(&b->disk, session)->live, before, b->size);
  free(before);
  assert_int_equal(recovery.records, line);
  status = eb_journal_read(&b->host, session, &journal, &recovery, NULL);
  assert_int_equal(status == EB_OK, line > 0);
  if (status != EB_OK)
    return;
  assert_int_equal(recovery.damaged_record, line + 1);
  assert_int_not_equal(recovery.damage[0], '\0');
  assert_int_equal(eb_journal_count(journal), line);
  check_prefix(journal, line);
  eb_journal_close(journal);
}

/* Without its newline the last record is a torn end. */
static void check_last_torn(bench *b)
{
  eb_journal *journal = NULL;
  eb_recovery recovery;
  assert_int_equal(eb_journal_open(&b->host, session, &journal, &recovery, NULL), EB_OK);
  assert_int_equal(recovery.records, SAMPLE_RECORDS);
  assert_int_equal(recovery.torn_bytes, b->size - b->end[SAMPLE_RECORDS - 1]);
  eb_journal_close(journal);
}

static void every_flipped_bit_is_noticed(void **state)
{
  bench *b = *state;
  char *bytes = memcpy(malloc(b->size), b->bytes, b->size);
  size_t flips = 0;
  for (size_t at = 0; at < b->size; at++)
    for (unsigned bit = 1; bit < 256; bit <<= 1, flips++) {
      bytes[at] = (char)((unsigned char)b->bytes[at] ^ bit);
      put(b, bytes, b->size);
      if (at == b->size - 1)
        check_last_torn(b);
      else
        check_damage(b, lines_before(b, at), at);
      bytes[at] = b->bytes[at];
    }
  free(bytes);
  print_message("%zu flipped bits in %zu bytes\n", flips, b->size);
}

/* A whole line that is gone, doubled, or has changed places with the next. */
static void lines_out_of_order_are_noticed(void **state)
{
  bench *b = *state;
  for (int line = 1; line < SAMPLE_RECORDS; line++) {
    size_t start = b->end[line - 1], end = b->end[line], next = b->end[line + 1];
    char *bytes = malloc(b->size);
    memcpy(bytes, b->bytes, start);
    memcpy(bytes + start, b->bytes + end, next - end);
    memcpy(bytes + start + (next - end), b->bytes + start, end - start);
    memcpy(bytes + next, b->bytes + next, b->size - next);
    put(b, bytes, b->size);
    check_damage(b, line, start);
    put(b, bytes, start + (next - end)); /* the line gone, its successor the last */
    eb_journal *journal = NULL;
    eb_recovery recovery;
    assert_int_equal(eb_journal_open(&b->host, session, &journal, &recovery, NULL), EB_DAMAGED);
    assert_int_equal(recovery.damaged_record, line + 1);
    free(bytes);
  }
}

static int begin(void **state)
{
  bench *b = calloc(1, sizeof *b);
  b->host = memory_host(&b->disk);
  eb_journal *journal = NULL;
  sample_ledger ledger = {0};
  if (!sample_create(&b->host, session, &ledger, &journal) || !sample_append(journal, 1, SAMPLE_RECORDS, &ledger))
    return 1;
  eb_journal_close(journal);
  const memory_file *file = memory_get(&b->disk, session);
  b->size = file->size;
  b->bytes = memcpy(malloc(b->size), file->live, b->size);
  int lines = 0;
  for (size_t at = 0; at < b->size; at++)
    if (b->bytes[at] == '\n')
      b->end[lines++] = at + 1;
  *state = b;
  return lines == SAMPLE_RECORDS + 1 ? 0 : 1;
}

static int end(void **state)
{
  bench *b = *state;
  memory_clear(&b->disk);
  free(b->bytes);
  free(b);
  return 0;
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_cut_keeps_what_is_whole),
      cmocka_unit_test(zeros_behind_the_last_record_are_a_torn_end),
      cmocka_unit_test(every_flipped_bit_is_noticed),
      cmocka_unit_test(lines_out_of_order_are_noticed),
  };
  return cmocka_run_group_tests(tests, begin, end);
}
