/* The main of a target that is built without a fuzzer: plays its seeds, and changes of them from a fixed sequence, so
 * that every run of the tests does the same. */
#include "fuzz.h"

#include <dirent.h>

enum { CHANGES = 150, SIZE_MAX_BYTES = 1 << 17 };

static uint8_t seed[SIZE_MAX_BYTES];
static uint8_t changed[2 * SIZE_MAX_BYTES];

/* Park and Miller, Communications of the ACM 31, 1988. */
static uint64_t dice_state = 20261;
static size_t dice(size_t sides)
{
  dice_state = dice_state * 48271 % 2147483647;
  return sides == 0 ? 0 : (size_t)(dice_state % sides);
}

/* One change: a bit, a byte, a piece gone, a piece twice, or a byte more. */
static size_t change(uint8_t *bytes, size_t size)
{
  size_t at = dice(size);
  size_t piece = dice(size - at > 40 ? 40 : size - at);
  switch (size == 0 ? 4 : dice(5)) {
  case 0: bytes[at] ^= (uint8_t)(1U << dice(8)); return size;
  case 1: bytes[at] = (uint8_t)dice(256); return size;
  case 2: memmove(bytes + at, bytes + at + piece, size - at - piece); return size - piece;
  case 3: memmove(bytes + at + piece, bytes + at, size - at); return size + piece;
  default:
    memmove(bytes + at + 1, bytes + at, size - at);
    bytes[at] = (uint8_t)dice(256);
    return size + 1;
  }
}

static int play(const char *path)
{
  FILE *file = fopen(path, "rb");
  must(file != NULL);
  size_t size = fread(seed, 1, sizeof seed, file);
  fclose(file);
  LLVMFuzzerTestOneInput(seed, size);
  for (int i = 0; i < CHANGES; i++) {
    size_t now = size;
    memcpy(changed, seed, size);
    for (size_t changes = 1 + dice(4); changes > 0; changes--)
      now = change(changed, now);
    LLVMFuzzerTestOneInput(changed, now);
  }
  return 1 + CHANGES;
}

int main(int argc, char **argv)
{
  int seeds = 0;
  int inputs = 0;
  DIR *folder = opendir(argc > 1 ? argv[1] : "");
  must(folder != NULL);
  for (const struct dirent *entry; (entry = readdir(folder)) != NULL;) {
    if (entry->d_name[0] == '.')
      continue;
    char path[1024];
    snprintf(path, sizeof path, "%s/%s", argv[1], entry->d_name);
    inputs += play(path);
    seeds++;
  }
  closedir(folder);
  printf("%d seeds, %d inputs\n", seeds, inputs);
  must(seeds > 0);
  return 0;
}
