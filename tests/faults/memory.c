/* Memory runs out at every allocation, one after the other, of everything that the interface can do: it is
 * told as that, nothing crashes, nothing is kept, and the bundle is as it was.
 *
 * usage: memory [--every | --few] [--show] [OPERATION [CALL]]
 * Without --every: the first allocations of each operation one by one, and of the others as many as a fixed
 * sequence chooses; with --few it chooses among all, and fewer. --show: where the failing call and what was
 * kept came from. */
#define _GNU_SOURCE /* MAP_ANONYMOUS */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include "allocator.h"
#include "operations.h"
#include "scene.h"
#include "system.h"

/* How many of an operation's allocations are tried one by one, and about how many of the others. */
typedef struct choice {
    uint64_t first, chosen;
} choice;
#if defined(__SANITIZE_ADDRESS__)
static choice tried = {100, 30}; /* each takes ten times as long */
#else
static choice tried = {300, 60};
#endif

static bool show;

/* Shared with the process that does the work, which may crash. */
typedef struct progress {
    uint64_t call, calls, tried;
    uint64_t swallowed; /* calls that the operation got on without, to the same end */
    bool for_good, ended;
    unsigned faults;
} progress;
static progress *at;

static void fault(const operation *op, const char *what, const char *more) {
    printf("FAIL %s, allocation %llu%s: %s%s\n", op->name, (unsigned long long)at->call,
           at->for_good ? " and all after it" : "", what, more);
    at->faults++;
    fflush(stdout);
    if (show)
        allocator_show_failing();
}

static bool says_memory(const glassine_error *error) {
    return strstr(error->message, "memory") != NULL;
}

static glassine_status run(const operation *op, uint64_t failing, telling *told, glassine_error *error) {
    *told = (telling){.sum = UINT64_C(0xcbf29ce484222325)};
    *error = (glassine_error){0};
    if (op->prepare)
        op->prepare();
    system_begin();
    allocator_watch(failing, at->for_good);
    glassine_status status = op->run(told, error);
    at->calls = allocator_stop();
    return status;
}

static bool there(const char *name) {
    return access(scene_path(name), F_OK) == 0;
}

static void check_files(const operation *op, bool done, const glassine_error *error) {
    bool said = !done && strstr(error->remedy, "all the same"); /* it is done, and the error says so */
    if (op->made && said && !there(op->made))
        fault(op, "it says that it is done, and made nothing: ", op->made);
    if (op->made && !said && there(op->made) != done)
        fault(op, done ? "it succeeded, and made nothing: " : "it failed, and left something: ", op->made);
    if (!op->bundle || !there(op->bundle))
        return;
    glassine_report *report = glassine_report_new("audit");
    if (glassine_audit(scene_path(op->bundle), NULL, report, NULL) ||
        glassine_report_findings(report, GLASSINE_FAULT))
        fault(op, "the bundle is not sound afterwards", "");
    glassine_report_free(report);
}

/* Something that a library keeps for good is kept once: a second run with the same failure tells. */
static bool keeps_again(const operation *op, telling *told, glassine_error *error) {
    run(op, at->call, told, error);
    return allocator_kept() != 0;
}

static void try_call(const operation *op, const telling *usual) {
    telling told;
    glassine_error error;
    glassine_status status = run(op, at->call, &told, &error);
    bool kept = allocator_kept() != 0;
    at->tried++;
    if (at->calls < at->call)
        return;
    if (!status && told.sum != usual->sum)
        fault(op, "it went wrong, and nothing was said", "");
    at->swallowed += !status;
    if (status && (status != GLASSINE_SYSTEM || error.status != status || !says_memory(&error)))
        fault(op, "the error is another: ", error.message);
    check_files(op, told.done, &error);
    if (kept && keeps_again(op, &told, &error)) {
        fault(op, "memory was not given back", "");
        if (show)
            allocator_show_kept();
    }
}

/* The next call to try: one by one, then in steps that a fixed sequence chooses. */
static uint64_t next_call(uint64_t call, uint64_t calls, uint64_t *luck) {
    if (call < tried.first || calls <= tried.first)
        return call + 1;
    uint64_t step = (calls - tried.first) / tried.chosen + 1;
    *luck = *luck * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return call + 1 + (*luck >> 33) % (2 * step);
}

static void work(const operation *op, uint64_t from, uint64_t only) {
    telling usual, again;
    glassine_error error;
    uint64_t luck = 1764061200;
    for (int warming = 0; warming < 2; warming++)
        if (run(op, 0, warming ? &again : &usual, &error)) {
            fault(op, "it does not even succeed with all the memory it wants: ", error.message);
            at->ended = true;
            return;
        }
    if (usual.sum != again.sum)
        fault(op, "it does not tell the same twice", "");
    uint64_t calls = at->calls;
    for (at->call = from; at->call <= calls && (!only || at->call == only);
         at->call = next_call(at->call, calls, &luck))
        try_call(op, &usual);
    at->calls = calls;
    at->ended = true;
}

/* In a process of its own, and after a crash in another one from the next call on. */
static void try_operation(const operation *op, uint64_t only) {
    *at = (progress){.call = only ? only : 1, .for_good = at->for_good, .faults = at->faults};
    while (!at->ended) {
        fflush(stdout);
        uint64_t from = at->call;
        pid_t child = fork();
        if (child == 0) {
            work(op, from, only);
            exit(0);
        }
        int how = 0;
        if (child < 0 || waitpid(child, &how, 0) != child)
            exit(2);
        if (WIFEXITED(how) && WEXITSTATUS(how) == 0)
            continue;
        fault(op, at->ended ? "the process ended with an error" : "it crashed", "");
        if (only)
            break;
        at->call++;
    }
    printf("%-28s %6llu allocations, %6llu made to fail, %4llu of them did no harm\n", op->name,
           (unsigned long long)at->calls, (unsigned long long)at->tried, (unsigned long long)at->swallowed);
}

/* The operations of that name; all where it is NULL. */
static void try_operations(const char *name, uint64_t only) {
    for (size_t i = 0; i < OPERATION_COUNT; i++)
        if (!name || strcmp(name, OPERATIONS[i].name) == 0)
            try_operation(&OPERATIONS[i], only);
}

int main(int count, char **arguments) {
    const char *name = NULL;
    uint64_t only = 0;
    bool every = false;
    for (int i = 1; i < count; i++) {
        if (strcmp(arguments[i], "--every") == 0)
            every = true;
        else if (strcmp(arguments[i], "--few") == 0)
            tried = (choice){0, 120};
        else if (strcmp(arguments[i], "--show") == 0)
            show = true;
        else if (!name)
            name = arguments[i];
        else
            only = strtoull(arguments[i], NULL, 10);
    }
    if (every)
        tried.first = UINT64_MAX;
    at = mmap(NULL, sizeof *at, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    if (at == MAP_FAILED)
        return 2;
    setenv("SOURCE_DATE_EPOCH", "1764061200", 1);
    allocator_trace(show);
    scene_make();
    for (int way = 0; way <= every; way++) {
        at->for_good = way;
        try_operations(name, only);
    }
    scene_remove();
    printf("%u faults\n", at->faults);
    return at->faults ? 1 : 0;
}
