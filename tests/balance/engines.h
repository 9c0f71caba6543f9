/* Layouts for tests, and a seeded stream of numbers. All invented. */
#ifndef EVENBORE_TESTS_ENGINES_H
#define EVENBORE_TESTS_ENGINES_H

#include "evenbore/layout.h"

#include <math.h>
#include <stdio.h>
#include <stdint.h>
#include <string.h>

#define PLATE(n)                                                                                                       \
  "{\"id\":\"plate-" #n "\",\"kind\":\"plate\",\"title\":\"plate " #n "\",\"sides\":[[" #n "]],\"effort\":15}"
#define PLATES(a, b, c, d) PLATE(a) "," PLATE(b) "," PLATE(c) "," PLATE(d)

static const char *const ENGINE_V8 =
    "{\"rows\":[[1,3,5,7],[2,4,6,8]],\"row_titles\":[\"left\",\"right\"],\"adjusters\":["
    "{\"id\":\"link\",\"kind\":\"link\",\"title\":\"cross link\",\"sides\":[[1,3,5,7],[2,4,6,8]],\"effort\":4},"
    "{\"id\":\"coupler-left\",\"kind\":\"coupler\",\"title\":\"left coupler\",\"sides\":[[1,3],[5,7]],\"effort\":6},"
    "{\"id\":\"coupler-right\",\"kind\":\"coupler\",\"title\":\"right "
    "coupler\",\"sides\":[[2,4],[6,8]],\"effort\":6}," PLATES(1, 2, 3, 4) "," PLATES(5, 6, 7, 8) "]}";

static const char *const ENGINE_INLINE_FOUR = "{\"rows\":[[1,2,3,4]],\"adjusters\":["
                                              "{\"id\":\"middle\",\"kind\":\"screw\",\"sides\":[[1,2],[3,4]]},"
                                              "{\"id\":\"front\",\"kind\":\"screw\",\"sides\":[[1],[2]]},"
                                              "{\"id\":\"rear\",\"kind\":\"screw\",\"sides\":[[3],[4]]}]}";

/* Each bore's own bleed on a row of six, and nothing else. */
static const char *const ENGINE_ONE_SIDED = "{\"rows\":[[1,2,3,4,5,6]],\"adjusters\":["
                                            "{\"id\":\"b1\",\"kind\":\"bleed\",\"sides\":[[1]],\"stopped\":false},{"
                                            "\"id\":\"b2\",\"kind\":\"bleed\",\"sides\":[[2]],\"stopped\":false},"
                                            "{\"id\":\"b3\",\"kind\":\"bleed\",\"sides\":[[3]],\"stopped\":false},{"
                                            "\"id\":\"b4\",\"kind\":\"bleed\",\"sides\":[[4]],\"stopped\":false},"
                                            "{\"id\":\"b5\",\"kind\":\"bleed\",\"sides\":[[5]],\"stopped\":false},{"
                                            "\"id\":\"b6\",\"kind\":\"bleed\",\"sides\":[[6]],\"stopped\":false}]}";

/* Screws between neighbours, which share their bores, and one end stop for three. */
static const char *const ENGINE_CHAIN = "{\"rows\":[[1,2,3,4,5,6]],\"adjusters\":["
                                        "{\"id\":\"s12\",\"kind\":\"screw\",\"sides\":[[1],[2]],\"effort\":3},{\"id\":"
                                        "\"s23\",\"kind\":\"screw\",\"sides\":[[2],[3]],\"effort\":3},"
                                        "{\"id\":\"s34\",\"kind\":\"screw\",\"sides\":[[3],[4]],\"effort\":5},{\"id\":"
                                        "\"s45\",\"kind\":\"screw\",\"sides\":[[4],[5]],\"effort\":3},"
                                        "{\"id\":\"s56\",\"kind\":\"screw\",\"sides\":[[5],[6]],\"effort\":3},{\"id\":"
                                        "\"half\",\"kind\":\"stop\",\"sides\":[[1,2,3]],\"effort\":7}]}";

static const char *const ENGINE_TWIN = "{\"rows\":[[\"front\"],[\"rear\"]],\"adjusters\":[{\"id\":\"link\",\"kind\":"
                                       "\"link\",\"sides\":[[\"front\"],[\"rear\"]]}]}";

static const char *const ENGINE_SINGLE =
    "{\"rows\":[[1]],\"adjusters\":[{\"id\":\"plate\",\"kind\":\"plate\",\"sides\":[[1]]}]}";

/* Four rows of four: a link between pairs of rows, one inside each pair, a coupler for each pair of rows, a plate each.
 */
static const char *const ENGINE_W16 =
    "{\"rows\":[[1,2,3,4],[5,6,7,8],[9,10,11,12],[13,14,15,16]],\"adjusters\":["
    "{\"id\":\"main\",\"kind\":\"link\",\"sides\":[[1,2,3,4,5,6,7,8],[9,10,11,12,13,14,15,16]],\"effort\":"
    "5},"
    "{\"id\":\"link-a\",\"kind\":\"link\",\"sides\":[[1,2,3,4],[5,6,7,8]],\"effort\":4},"
    "{\"id\":\"link-b\",\"kind\":\"link\",\"sides\":[[9,10,11,12],[13,14,15,16]],\"effort\":4},"
    "{\"id\":\"coupler-a\",\"kind\":\"coupler\",\"sides\":[[1,2,5,6],[3,4,7,8]],\"effort\":6},"
    "{\"id\":\"coupler-b\",\"kind\":\"coupler\",\"sides\":[[9,10,13,14],[11,12,15,16]],\"effort\":6}"
    "," PLATES(1, 2, 3, 4) "," PLATES(5, 6, 7, 8) "," PLATES(9, 10, 11, 12) "," PLATES(13, 14, 15, 16) "]}";

/* Two rows of twelve with a plate each and a link. */
static const char *const ENGINE_24 =
    "{\"rows\":[[1,2,3,4,5,6,7,8,9,10,11,12],[13,14,15,16,17,18,19,20,21,22,23,24]],\"adjusters\":["
    "{\"id\":\"link\",\"kind\":\"link\",\"sides\":[[1,2,3,4,5,6,7,8,9,10,11,12],[13,14,15,16,17,18,19,20,21,22,23,24]],"
    "\"effort\":4}," PLATES(1, 2, 3, 4) "," PLATES(5, 6, 7, 8) "," PLATES(9, 10, 11, 12) "," PLATES(
        13, 14, 15, 16) "," PLATES(17, 18, 19, 20) "," PLATES(21, 22, 23, 24) "]}";

static inline eb_status engine_read(const char *text, eb_layout *layout, eb_error *error)
{
  eb_json *json = NULL;
  eb_status status = eb_json_parse(text, strlen(text), &json, error);
  if (status == EB_OK)
    status = eb_layout_read(json, "engines.h", layout, error);
  eb_json_destroy(json);
  return status;
}

/* Fails with both numbers; a number that is none fails too. */
#define assert_near(value, wanted, tolerance)                                                                          \
  do {                                                                                                                 \
    double near_value = (value), near_wanted = (wanted);                                                               \
    if (!(fabs(near_value - near_wanted) <= (tolerance)))                                                              \
      fail_msg("%s is %.17g, not %.17g", #value, near_value, near_wanted);                                             \
  } while (0)

/* splitmix64 [Steele, Lea and Flood 2014; from memory]: the same numbers on every machine. */
static inline uint64_t stream_next(uint64_t *stream)
{
  uint64_t z = *stream += 0x9E3779B97F4A7C15ULL;
  z = (z ^ z >> 30) * 0xBF58476D1CE4E5B9ULL;
  z = (z ^ z >> 27) * 0x94D049BB133111EBULL;
  return z ^ z >> 31;
}

static inline double stream_uniform(uint64_t *stream)
{
  return (double)(stream_next(stream) >> 11) * 0x1p-53;
}

static inline double stream_normal(uint64_t *stream)
{
  double u = 1 - stream_uniform(stream), v = stream_uniform(stream);
  return sqrt(-2 * log(u)) * cos(6.283185307179586 * v);
}

#endif
