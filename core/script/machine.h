/* Machine: one run of one procedure, its Lua state and what it may still use up. */
#ifndef EB_SCRIPT_MACHINE_H
#define EB_SCRIPT_MACHINE_H

#include "evenbore/json.h"
#include "evenbore/script.h"

#include <lauxlib.h>
#include <lua.h>
#include <stdbool.h>

/* "v8-coupled.lua:31" */
enum { PLACE_SIZE = 160 };

/* Why the allocator said no last. */
typedef enum memory_refusal {
  REFUSED_NOTHING,
  REFUSED_BY_HOST,
  REFUSED_MEMORY,
  REFUSED_STRING,
  REFUSED_BLOCK
} memory_refusal;

/* A look at the clock costs more than most exchanges: what is over before the first look at the budget is not timed.
 * That holds for the first exchanges after an answer only: else a script could do its work between two such looks. */
enum { NOT_TIMED = -1, UNTIMED_MAX = 16 };

/* What ended the run. Once set it stays: every pcall raises again. */
typedef enum spent_up { SPENT_NOTHING, SPENT_INSTRUCTIONS, SPENT_TIME, SPENT_MEMORY } spent_up;

typedef struct script_machine {
  const eb_host *host;
  eb_script_limits limits;
  eb_source main; /* texts and names of all sources are owned */
  eb_source library[EB_PROCEDURE_FILES_MAX];
  size_t library_count;

  bool begun;         /* the first exchange was asked for */
  lua_State *state;   /* NULL until then, unless the library was loaded before */
  lua_State *routine; /* the coroutine in which all of the script runs */
  size_t memory;      /* bytes that Lua holds */
  size_t most_memory; /* and held at most */
  memory_refusal refused;
  long instructions; /* used since the last answer to an ask */
  long collecting;   /* the part of them that refused allocations cost */
  int exchanges;     /* begun since then */
  int64_t used_ns;   /* processor time used since then, up to the last request */
  int64_t begun_ns;  /* processor time when it would have begun without a break; NOT_TIMED: nobody has looked yet */
  bool asks;         /* the last request was an ask: its answer brings a new budget */
  spent_up spent;
  char spent_at[PLACE_SIZE]; /* the author's line where that was noticed */

  eb_json *sent;             /* the request, until it is handed over */
  const eb_json *reply;      /* the reply while it is turned into Lua values */
  char declared[PLACE_SIZE]; /* where the file called procedure {...} */
} script_machine;

script_machine *machine_of(lua_State *L);

/* Starts and ends the Lua state; NULL when there is no memory for one. */
lua_State *machine_open(script_machine *machine);
void machine_close(script_machine *machine);

/* A new budget of instructions and time. */
void machine_refill(script_machine *machine);

/* The script works from here, and to there: what the session does meanwhile is not the script's time. */
void machine_enter(script_machine *machine);
void machine_leave(script_machine *machine);

/* Has the coroutine's instructions counted. */
void machine_count(lua_State *L);

/* Takes `units` (of about one instruction each) off the budget; raises when it is used up. */
void machine_charge(lua_State *L, size_t units);

/* Ends the run: sets the flag and raises. */
int machine_exhaust(lua_State *L, spent_up spent);

/* The same for memory that the host refused outside of Lua's allocator. */
int machine_no_memory(lua_State *L);

#endif
