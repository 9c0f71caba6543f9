#include "stream.h"

#include "evenbore/statistics.h"

/* splitmix64 [Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014]. */
static uint64_t split(uint64_t *state)
{
  uint64_t z = *state += UINT64_C(0x9E3779B97F4A7C15);
  z = (z ^ z >> 30) * UINT64_C(0xBF58476D1CE4E5B9);
  z = (z ^ z >> 27) * UINT64_C(0x94D049BB133111EB);
  return z ^ z >> 31;
}

stream stream_open(uint64_t seed, uint64_t number)
{
  /* Any odd factor will do that is not split's own. */
  uint64_t state = seed + number * UINT64_C(0xD1B54A32D192ED03);
  stream s;
  for (int i = 0; i < 4; i++)
    s.word[i] = split(&state);
  return s;
}

static uint64_t turn_left(uint64_t x, int by)
{
  return x << by | x >> (64 - by);
}

/* xoshiro256** [Blackman and Vigna, "Scrambled linear pseudorandom number generators", 2018]. */
uint64_t stream_next(stream *s)
{
  uint64_t *w = s->word;
  uint64_t result = turn_left(w[1] * 5, 7) * 9;
  uint64_t shifted = w[1] << 17;
  w[2] ^= w[0];
  w[3] ^= w[1];
  w[1] ^= w[2];
  w[0] ^= w[3];
  w[2] ^= shifted;
  w[3] = turn_left(w[3], 45);
  return result;
}

/* The middle of one of 2^52 equal parts, which a double holds exactly. */
static double open_unit(stream *s)
{
  return ((double)(stream_next(s) >> 12) + 0.5) * 0x1p-52;
}

double stream_uniform(stream *s, double low, double high)
{
  return low + (high - low) * open_unit(s);
}

double stream_normal(stream *s, double deviation)
{
  return deviation * eb_normal_quantile(open_unit(s));
}

bool stream_chance(stream *s, double probability)
{
  return open_unit(s) < probability;
}
