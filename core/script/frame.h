/* Frame: how a run's process and the session's speak: a head, then that many bytes. */
#ifndef EB_SCRIPT_FRAME_H
#define EB_SCRIPT_FRAME_H

#include "evenbore/procedure.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

typedef enum frame_kind {
  FRAME_REPLY,   /* to the process: JSON of procedure.h */
  FRAME_REQUEST, /* from it: the same */
  FRAME_FAILURE  /* from it, the last: an eb_error as it lies in memory, so that telling needs none */
} frame_kind;

typedef struct frame_head {
  uint32_t kind; /* frame_kind */
  uint32_t size; /* of the bytes behind */
} frame_head;

/* Both as they go over the socket, so that one call of the system sends or takes them.  They take turns: behind the
 * bytes nothing follows until the other has answered. */
typedef struct frame {
  frame_head head;
  char bytes[EB_PROCEDURE_REQUEST_MAX + 1 + EB_JSON_SLACK]; /* and a NUL */
} frame;

/* False where its text is longer than a frame may be. */
static inline bool frame_write(frame *f, frame_kind kind, const eb_json *value)
{
  if (!eb_json_text_into(value, f->bytes, sizeof f->bytes))
    return false;
  f->head = (frame_head){.kind = kind, .size = (uint32_t)strlen(f->bytes)};
  return f->head.size <= EB_PROCEDURE_REQUEST_MAX;
}

static inline size_t frame_whole(const frame *f)
{
  return sizeof f->head + f->head.size;
}

#endif
