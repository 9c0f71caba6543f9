/* The room script: runs procedures written in Lua, so that a file from a
 * stranger can compute and ask, and nothing else.  The session talks to it
 * through procedure.h alone; procedures/lib/ builds what authors see upon it.
 *
 * machine      one run: Lua state, allocator, budgets
 * environment  the names that a procedure sees (basics, strings, tables)
 * source       loading, checked by guard; require
 * verbs        the raw verbs of library files; classes: their objects; shape: what authors give against api.h
 * convert      Lua values to JSON and back; keys: tables in a fixed order
 * place        lines of the author's file; report: what went wrong there
 * runner       the coroutine behind eb_procedure
 *
 * A runner of the same kind puts each run into a process of its own:
 * child_runner which runs may begin
 * process      the session's end of it, which trusts nothing that comes
 * child        the locked-in end: lock, filter, its memory in an arena; frame is what both say
 * cell         the same for work that leads runs of its own */
#include "machine.h"

#include "place.h"

enum {
  COUNT_STEP = 1000,    /* instructions between two looks at the budget */
  STRING_OVERHEAD = 32, /* Lua's header of a string and the NUL at its end */
  BYTES_PER_UNIT = 64   /* a refused allocation is a full collection: its cost in instructions */
};

eb_script_limits eb_script_limits_usual(void)
{
  return (eb_script_limits){.instructions = 5000000,
                            .processor_ms = 1500,
                            .memory = (size_t)16 << 20,
                            .string = (size_t)64 << 10,
                            .block = (size_t)1 << 20};
}

script_machine *machine_of(lua_State *L)
{
  return *(script_machine **)lua_getextraspace(L);
}

static memory_refusal judge(const script_machine *machine, size_t kind, size_t old, size_t size)
{
  if (kind == LUA_TSTRING && size > machine->limits.string + STRING_OVERHEAD)
    return REFUSED_STRING;
  if (size > machine->limits.block)
    return REFUSED_BLOCK;
  if (machine->memory + (size - old) > machine->limits.memory)
    return REFUSED_MEMORY;
  return REFUSED_NOTHING;
}

/* Lua collects everything and asks again after a refusal; near the limit that
 * is the dearest thing a script can do, so it costs instructions. */
static void *refuse(script_machine *machine, memory_refusal refused)
{
  long cost = (long)(machine->memory / BYTES_PER_UNIT);
  machine->refused = refused;
  machine->instructions += cost;
  machine->collecting += cost;
  return NULL;
}

/* For a new block Lua hands over its kind in place of its old size. */
static void *allocate(void *context, void *block, size_t old, size_t size)
{
  script_machine *machine = context;
  const eb_host *host = machine->host;
  size_t kind = block == NULL ? old : 0;
  if (block == NULL)
    old = 0;
  if (size > old) {
    memory_refusal refused = judge(machine, kind, old, size);
    if (refused != REFUSED_NOTHING)
      return refuse(machine, refused);
  }
  void *moved = size == 0 && block == NULL ? NULL : host->allocate(host->context, block, size);
  if (moved == NULL && size > old)
    return refuse(machine, REFUSED_BY_HOST);
  machine->memory = machine->memory - old + size;
  machine->most_memory = machine->memory > machine->most_memory ? machine->memory : machine->most_memory;
  return moved == NULL && size > 0 ? block : moved; /* Lua counts on it that a block can always shrink */
}

lua_State *machine_open(script_machine *machine)
{
  machine->state = lua_newstate(allocate, machine);
  if (machine->state != NULL)
    *(script_machine **)lua_getextraspace(machine->state) = machine;
  return machine->state;
}

void machine_close(script_machine *machine)
{
  if (machine->state != NULL)
    lua_close(machine->state);
  machine->state = NULL;
}

/* What was used before this break counts on. */
static int64_t look_at_clock(script_machine *machine)
{
  int64_t now_ns = machine->host->processor_ns(machine->host->context);
  if (machine->begun_ns == NOT_TIMED)
    machine->begun_ns = now_ns - machine->used_ns;
  return now_ns;
}

void machine_enter(script_machine *machine)
{
  machine->begun_ns = NOT_TIMED;
  if (machine->exchanges++ >= UNTIMED_MAX)
    look_at_clock(machine);
}

void machine_refill(script_machine *machine)
{
  machine->instructions = 0;
  machine->collecting = 0;
  machine->exchanges = 0;
  machine->used_ns = 0;
  machine_enter(machine);
}

void machine_leave(script_machine *machine)
{
  if (machine->begun_ns != NOT_TIMED)
    machine->used_ns = look_at_clock(machine) - machine->begun_ns;
}

int machine_exhaust(lua_State *L, spent_up spent)
{
  script_machine *machine = machine_of(L);
  if (machine->spent == SPENT_NOTHING) {
    bool crowded = spent == SPENT_INSTRUCTIONS && machine->collecting > machine->limits.instructions / 2;
    machine->spent = crowded ? SPENT_MEMORY : spent;
    place_any(L, machine->spent_at);
  }
  return luaL_error(L, "the budget is used up");
}

int machine_no_memory(lua_State *L)
{
  machine_of(L)->refused = REFUSED_BY_HOST;
  return machine_exhaust(L, SPENT_MEMORY);
}

void machine_charge(lua_State *L, size_t units)
{
  script_machine *machine = machine_of(L);
  long left = machine->limits.instructions - machine->instructions;
  if (left <= 0 || units > (size_t)left)
    machine_exhaust(L, SPENT_INSTRUCTIONS);
  machine->instructions += (long)units;
}

static void look(lua_State *L, lua_Debug *event)
{
  (void)event;
  script_machine *machine = machine_of(L);
  int64_t now_ns = look_at_clock(machine);
  if ((now_ns - machine->begun_ns) / 1000000 > machine->limits.processor_ms)
    machine_exhaust(L, SPENT_TIME);
  machine_charge(L, COUNT_STEP);
}

void machine_count(lua_State *L)
{
  lua_sethook(L, look, LUA_MASKCOUNT, COUNT_STEP);
}
