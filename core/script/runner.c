#include "convert.h"
#include "environment.h"
#include "machine.h"
#include "place.h"
#include "report.h"
#include "runner.h"
#include "source.h"
#include "verbs.h"

#include <assert.h>
#include <locale.h>
#include <string.h>

/* The continuations of `body`, each taking the reply to what was sent before. */
static int after_end(lua_State *L, int status, lua_KContext context)
{
  (void)status;
  (void)context;
  const script_machine *machine = machine_of(L);
  const char *refusal = eb_json_get_string(machine->reply, "error", NULL);
  if (refusal != NULL) {
    lua_pushfstring(L, "%s: %s", machine->declared, refusal);
    return lua_error(L);
  }
  return 0;
}

static int after_run(lua_State *L, int status, lua_KContext context)
{
  (void)status;
  (void)context;
  lua_createtable(L, 0, 2);
  lua_pushliteral(L, "end");
  lua_setfield(L, -2, "op");
  convert_to_request(L, -1, NULL);
  return lua_yieldk(L, 0, 0, after_end);
}

static int after_declare(lua_State *L, int status, lua_KContext context)
{
  after_end(L, status, context);
  lua_getiuservalue(L, 1, PROCEDURE_RUN);
  lua_callk(L, 0, 0, 0, after_run);
  return after_run(L, LUA_OK, 0);
}

static void declare(lua_State *L)
{
  lua_getiuservalue(L, 1, PROCEDURE_DECLARE);
  lua_pushliteral(L, "declare");
  lua_setfield(L, -2, "op");
  lua_pushstring(L, machine_of(L)->declared);
  lua_setfield(L, -2, "at");
  convert_to_request(L, -1, NULL);
}

static int after_library(lua_State *L, int status, lua_KContext context)
{
  (void)status;
  (void)context;
  const script_machine *machine = machine_of(L);
  lua_settop(L, 0);
  source_load(L, &machine->main);
  lua_call(L, 0, 1);
  if (!verbs_is_procedure(L, 1))
    return luaL_error(L, "%s: the file returns %s; end it with: return procedure { ... }", machine->main.name,
                      lua_isnil(L, 1) ? "nothing" : "something else");
  declare(L);
  return lua_yieldk(L, 0, 0, after_declare);
}

/* All that a script does happens inside this one coroutine.  It rests where the library is there and nothing is known
 * of the procedure. */
static int body(lua_State *L)
{
  source_push_library(L, "api");
  return lua_yieldk(L, 0, 0, after_library);
}

static int open_state(lua_State *L)
{
  script_machine *machine = machine_of(L);
  convert_open(L);
  environment_open(L);
  machine->routine = lua_newthread(L);
  luaL_ref(L, LUA_REGISTRYINDEX);
  lua_pushcfunction(machine->routine, body);
  machine_count(machine->routine);
  return 0;
}

static eb_status open_machine(script_machine *machine, eb_error *error)
{
  lua_State *L = machine_open(machine);
  if (L == NULL)
    return eb_fail(error, machine->refused == REFUSED_BY_HOST ? EB_OUT_OF_MEMORY : EB_BUDGET, machine->main.name,
                   "there is no memory to run a procedure");
  lua_pushcfunction(L, open_state);
  int status = lua_pcall(L, 0, 0, 0);
  if (status != LUA_OK)
    return report_failure(machine, L, status, error);
  return EB_OK;
}

static eb_status resume(script_machine *machine, eb_error *error)
{
  int results = 0;
  int status = lua_resume(machine->routine, machine->state, 0, &results);
  if (status == LUA_YIELD)
    return EB_OK;
  if (status == LUA_OK)
    return eb_fail(error, EB_ENDED, machine->main.name, "the procedure is over");
  return report_failure(machine, machine->routine, status, error);
}

/* Up to where `body` rests. */
static eb_status load_library(script_machine *machine, eb_error *error)
{
  eb_status status = open_machine(machine, error);
  return status == EB_OK ? resume(machine, error) : status;
}

static eb_status exchange_in_c_locale(script_machine *machine, const eb_json *reply, eb_error *error)
{
  machine_enter(machine);
  eb_status status = machine->state == NULL ? load_library(machine, error) : EB_OK;
  if (machine->asks && eb_json_get(reply, "error") == NULL)
    machine_refill(machine);
  machine->reply = reply;
  if (status == EB_OK)
    status = resume(machine, error);
  machine->reply = NULL;
  machine_leave(machine);
  return status;
}

static eb_status fail_memory(const char *place, eb_error *error)
{
  return eb_fail(error, EB_OUT_OF_MEMORY, place, "there is no memory to run a procedure");
}

/* Lua compares, reads and writes text by the thread's locale: the plain one from here, until it is left.  0: there is
 * no memory for it. */
static locale_t enter_c_locale(locale_t *before)
{
  locale_t plain = newlocale(LC_ALL_MASK, "C", (locale_t)0);
  *before = plain == (locale_t)0 ? plain : uselocale(plain);
  return plain;
}

static void leave_c_locale(locale_t plain, locale_t before)
{
  uselocale(before);
  freelocale(plain);
}

static eb_status exchange(void *self, const eb_json *reply, eb_json **request, eb_error *error)
{
  script_machine *machine = self;
  assert((reply == NULL) == !machine->begun);
  machine->begun = true;
  locale_t before, plain = enter_c_locale(&before);
  if (plain == (locale_t)0)
    return fail_memory(machine->main.name, error);
  eb_status status = exchange_in_c_locale(machine, reply, error);
  leave_c_locale(plain, before);
  if (status != EB_OK)
    return status;
  *request = machine->sent;
  machine->sent = NULL;
  return EB_OK;
}

static void destroy(void *self)
{
  script_machine *machine = self;
  const eb_host *host = machine->host;
  machine_close(machine);
  eb_json_destroy(machine->sent);
  source_clear(machine);
  host->allocate(host->context, machine, 0);
}

/* NULL: *status says why. */
static script_machine *machine_new(const eb_host *host, const eb_script_limits *limits, const eb_source *main,
                                   const eb_source *library, size_t library_count, eb_status *status, eb_error *error)
{
  script_machine *made = host->allocate(host->context, NULL, sizeof *made);
  if (made == NULL) {
    *status = fail_memory(main->name, error);
    return NULL;
  }
  *made = (script_machine){.host = host, .limits = limits == NULL ? eb_script_limits_usual() : *limits};
  *status = source_copy(made, main, library, library_count, error);
  if (*status == EB_OK)
    return made;
  destroy(made);
  return NULL;
}

static eb_status start(void *context, const eb_host *host, const eb_source *main, const eb_source *library,
                       size_t library_count, eb_procedure *procedure, eb_error *error)
{
  eb_status status;
  script_machine *made = machine_new(host, context, main, library, library_count, &status, error);
  if (made != NULL)
    *procedure = (eb_procedure){.self = made, .exchange = exchange, .destroy = destroy};
  return status;
}

static eb_status prepare_in_c_locale(script_machine *machine, eb_error *error)
{
  machine_enter(machine);
  eb_status status = load_library(machine, error);
  if (status == EB_OK)
    lua_gc(machine->state, LUA_GCCOLLECT); /* done here once, and not in the middle of every run */
  machine_leave(machine);
  return status;
}

eb_status runner_prepare(const eb_host *host, const eb_script_limits *limits, const eb_source *library,
                         size_t library_count, script_machine **machine, eb_error *error)
{
  static const eb_source nothing = {.name = "procedure.lua", .text = ""};
  eb_status status;
  script_machine *made = machine_new(host, limits, &nothing, library, library_count, &status, error);
  if (made == NULL)
    return status;
  locale_t before, plain = enter_c_locale(&before);
  if (plain == (locale_t)0)
    status = fail_memory(nothing.name, error);
  else {
    status = prepare_in_c_locale(made, error);
    leave_c_locale(plain, before);
  }
  if (status == EB_OK)
    *machine = made;
  else
    destroy(made);
  return status;
}

eb_status runner_begin(script_machine *machine, const eb_source *main, const eb_source *library, size_t library_count,
                       eb_procedure *procedure, eb_error *error)
{
  source_clear(machine);
  eb_status status = source_copy(machine, main, library, library_count, error);
  if (status == EB_OK)
    *procedure = (eb_procedure){.self = machine, .exchange = exchange, .destroy = destroy};
  return status;
}

eb_runner eb_script_runner(const eb_script_limits *limits)
{
  return (eb_runner){.context = (void *)limits, .name = "lua 5.4", .start = start};
}
