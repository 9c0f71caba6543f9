/* Frame: how a run's process and the session's speak: a head, then that many bytes. */
#ifndef EB_SCRIPT_FRAME_H
#define EB_SCRIPT_FRAME_H

#include <stdint.h>

typedef enum frame_kind {
  FRAME_REPLY,   /* to the process: JSON of procedure.h */
  FRAME_REQUEST, /* from it: the same */
  FRAME_FAILURE  /* from it, the last: an eb_error as it lies in memory, so that telling needs none */
} frame_kind;

typedef struct frame_head {
  uint32_t kind; /* frame_kind */
  uint32_t size; /* of the bytes behind */
} frame_head;

#endif
