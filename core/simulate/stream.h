/* Seeded random numbers. */
#ifndef EVENBORE_SIMULATE_STREAM_H
#define EVENBORE_SIMULATE_STREAM_H

#include <stdbool.h>
#include <stdint.h>

typedef struct stream {
  uint64_t word[4];
} stream;

/* Stream `number` of a seed. Number 0 is the published seeding. */
stream stream_open(uint64_t seed, uint64_t number);

uint64_t stream_next(stream *s);

double stream_uniform(stream *s, double low, double high); /* ends excluded */
double stream_normal(stream *s, double deviation);
bool stream_chance(stream *s, double probability);

#endif
