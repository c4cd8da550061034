/* The system fails at every call on a file, one after the other, of everything that writes one: a call that
 * is short or interrupted does no harm and changes no byte; one that fails is told, leaves what was there,
 * and nothing beside it that the next run does not clear away. So does a process that is killed there.
 *
 * usage: calls [OPERATION [CALL]] */
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/calls.h"
#include "operations.h"
#include "scene.h"
#include "system.h"

typedef enum way {
    SHORT,       /* half of it is done */
    INTERRUPTED, /* EINTR; done when it is called again */
    BROKEN,      /* an error of the device */
    REFUSED,     /* an error of the place: full, too many, not allowed */
    KILLED,      /* it and all after it do nothing: whoever called is gone */
    WAYS
} way;

static const char *const WAY_NAMES[WAYS] = {"short", "interrupted", "broken", "refused", "killed"};

static struct {
    uint64_t calls, at;
    way way;
    bool applied;
} plan;

static unsigned faults;

/* Does this call go wrong? `refused` is what the place may say; `partial`: it may be short or interrupted. */
static bool goes_wrong(int refused, bool partial) {
    uint64_t number = ++plan.calls;
    if (plan.at == 0 || number < plan.at || (number > plan.at && plan.way != KILLED))
        return false;
    if ((plan.way == SHORT || plan.way == INTERRUPTED) && !partial)
        return false;
    plan.applied = true;
    errno = plan.way == INTERRUPTED ? EINTR : plan.way == REFUSED ? refused : EIO;
    return plan.way != SHORT;
}

/* What is left to do of `length`: half of it where this call is the short one. */
static size_t part_of(size_t length) {
    return plan.way == SHORT && plan.calls == plan.at && length > 1 ? length / 2 : length;
}

static int wrong_open(const char *path, int flags, mode_t mode) {
    return goes_wrong(flags & O_CREAT ? EACCES : EMFILE, true) ? -1 : open(path, flags, mode);
}

static ssize_t wrong_read(int fd, void *bytes, size_t length) {
    return goes_wrong(EIO, true) ? -1 : read(fd, bytes, part_of(length));
}

static ssize_t wrong_pread(int fd, void *bytes, size_t length, off_t at) {
    return goes_wrong(EIO, true) ? -1 : pread(fd, bytes, part_of(length), at);
}

static ssize_t wrong_pwrite(int fd, const void *bytes, size_t length, off_t at) {
    return goes_wrong(ENOSPC, true) ? -1 : pwrite(fd, bytes, part_of(length), at);
}

static ssize_t wrong_copy(int from, off_t from_at, int to, off_t to_at, size_t length) {
    return goes_wrong(EDQUOT, true)
               ? -1
               : gl_calls_system()->copy_file_range(from, from_at, to, to_at, part_of(length));
}

static int wrong_fstat(int fd, struct stat *result) {
    return goes_wrong(EIO, false) ? -1 : fstat(fd, result);
}

static int wrong_truncate(int fd, off_t size) {
    return goes_wrong(EIO, true) ? -1 : ftruncate(fd, size);
}

static int wrong_mode(int fd, mode_t mode) {
    return goes_wrong(EROFS, true) ? -1 : fchmod(fd, mode);
}

static int wrong_sync(int fd) {
    (void)fd; /* a real one would take most of the time, and prove nothing here */
    return goes_wrong(ENOSPC, true) ? -1 : 0;
}

static int wrong_rename(const char *from, const char *to) {
    return goes_wrong(EACCES, false) ? -1 : rename(from, to);
}

static int wrong_link(const char *from, const char *to) {
    return goes_wrong(ENOSPC, false) ? -1 : link(from, to);
}

static int wrong_unlink(const char *path) {
    return goes_wrong(EACCES, false) ? -1 : unlink(path);
}

static int wrong_mkdir(const char *path, mode_t mode) {
    return goes_wrong(EDQUOT, false) ? -1 : mkdir(path, mode);
}

static void use_wrong_calls(void) {
    static gl_calls calls;
    calls = *gl_calls_system();
    calls.open = wrong_open; /* close is left: a process that is killed closes its files */
    calls.read = wrong_read;
    calls.pread = wrong_pread;
    calls.pwrite = wrong_pwrite;
    calls.copy_file_range = wrong_copy;
    calls.fstat = wrong_fstat;
    calls.ftruncate = wrong_truncate;
    calls.fchmod = wrong_mode;
    calls.fdatasync = wrong_sync;
    calls.fsync = wrong_sync;
    calls.rename = wrong_rename;
    calls.link = wrong_link;
    calls.unlink = wrong_unlink;
    calls.mkdir = wrong_mkdir;
    gl_calls_use(&calls);
}

/* --------------------------------------------------------------------------------------------- looking */

static void fault(const operation *op, const char *what, const char *more) {
    printf("FAIL %s, call %llu %s: %s%s\n", op->name, (unsigned long long)plan.at, WAY_NAMES[plan.way], what,
           more);
    fflush(stdout);
    faults++;
}

static size_t hidden_in(const char *folder) {
    DIR *list = opendir(folder);
    size_t count = 0;
    for (const struct dirent *entry; list && (entry = readdir(list));)
        count +=
            entry->d_name[0] == '.' && strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0;
    if (list)
        closedir(list);
    return count;
}

static uint64_t sum_of_file(const char *path) {
    static unsigned char bytes[1 << 16];
    uint64_t sum = UINT64_C(0xcbf29ce484222325);
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    for (ssize_t got; fd >= 0 && (got = read(fd, bytes, sizeof bytes)) > 0;)
        for (ssize_t i = 0; i < got; i++)
            sum = (sum ^ bytes[i]) * UINT64_C(0x100000001b3);
    if (fd >= 0)
        close(fd);
    return sum;
}

static bool there(const char *name) {
    return access(scene_path(name), F_OK) == 0;
}

static bool is_sound(const char *name) {
    glassine_report *report = glassine_report_new("audit");
    bool sound = !glassine_audit(scene_path(name), NULL, report, NULL) &&
                 !glassine_report_findings(report, GLASSINE_FAULT);
    glassine_report_free(report);
    return sound;
}

static glassine_status run(const operation *op, way how, uint64_t at, telling *told, glassine_error *error) {
    *told = (telling){.sum = UINT64_C(0xcbf29ce484222325)};
    *error = (glassine_error){0};
    plan.calls = 0;
    plan.at = at;
    plan.way = how;
    plan.applied = false;
    system_begin();
    use_wrong_calls();
    glassine_status status = op->run(told, error);
    gl_calls_use(NULL);
    return status;
}

/* --------------------------------------------------------------------------------------------- judging */

typedef struct usual {
    telling told;
    uint64_t sum; /* of the bundle that is written; 0: none */
} usual;

static uint64_t sum_of(const operation *op) {
    return op->bundle && there(op->bundle) ? sum_of_file(scene_path(op->bundle)) : 0;
}

static void check_success(const operation *op, const usual *expected, const telling *told) {
    if (told->sum != expected->told.sum)
        fault(op, "it succeeds and tells something else", "");
    if (sum_of(op) != expected->sum)
        fault(op, "it succeeds and writes other bytes", "");
}

/* Without a fault it must go through, and clear away what is left. */
static void check_again(const operation *op, bool put_back) {
    telling told;
    glassine_error error;
    uint64_t at = plan.at;
    if (put_back && op->prepare)
        op->prepare();
    bool failed = run(op, plan.way, 0, &told, &error) != GLASSINE_OK;
    plan.at = at;
    if (failed)
        fault(op, "the next run fails: ", error.message);
}

static void check_failure(const operation *op, const usual *expected, glassine_status status,
                          const telling *told, const glassine_error *error) {
    bool killed = plan.way == KILLED, said = strstr(error->remedy, "all the same") != NULL;
    bool repeatable = !told->done && !said;
    if (!killed && (error->status != status || !error->message[0] || !error->place[0]))
        fault(op, "the error does not say what and where: ", error->message);
    if (op->bundle && there(op->bundle) && !is_sound(op->bundle))
        fault(op, "the bundle is not sound afterwards", "");
    if (!killed && op->made && there(op->made) && repeatable)
        fault(op, "it failed, and left something: ", op->made);
    bool gone = !op->made || !there(op->made);
    check_again(op, !gone || !repeatable || (killed && sum_of(op) == expected->sum));
    if (gone && hidden_in(scene_path("")))
        fault(op, "something is left even after the next run", "");
}

/* False where there are fewer calls. */
static bool try_call(const operation *op, const usual *expected, way how, uint64_t at) {
    telling told;
    glassine_error error;
    if (op->prepare)
        op->prepare();
    glassine_status status = run(op, how, at, &told, &error);
    if (plan.calls < at)
        return false;
    if (!plan.applied)
        return true;
    if (!status)
        check_success(op, expected, &told);
    else if (how == SHORT || how == INTERRUPTED)
        fault(op, "it fails: ", error.message);
    else
        check_failure(op, expected, status, &told, &error);
    return true;
}

static void try_operation(const operation *op, uint64_t only) {
    usual expected;
    glassine_error error;
    uint64_t calls = 0;
    if (op->prepare)
        op->prepare();
    if (run(op, BROKEN, 0, &expected.told, &error))
        scene_stop(op->name, &error);
    expected.sum = sum_of(op);
    for (way how = 0; how < WAYS; how++)
        for (uint64_t at = only ? only : 1; try_call(op, &expected, how, at) && !only; at++)
            calls = at;
    printf("%-28s %5llu calls\n", op->name, (unsigned long long)calls);
    fflush(stdout);
}

int main(int count, char **arguments) {
    static const char *const names[] = {"make",
                                        "enter",
                                        "claim",
                                        "settle",
                                        "gather",
                                        "merge",
                                        "backup",
                                        "extract",
                                        "backup of what grew",
                                        "tidy",
                                        "reply",
                                        "backup of what was tidied",
                                        "unpack",
                                        "recover",
                                        "tidy with parity",
                                        "recover by parity",
                                        "dispatch"};
    uint64_t only = count > 2 ? strtoull(arguments[2], NULL, 10) : 0;
    setenv("SOURCE_DATE_EPOCH", "1764061200", 1);
    scene_make();
    for (size_t i = 0; i < OPERATION_COUNT; i++)
        for (size_t k = 0; k < sizeof names / sizeof *names; k++)
            if (strcmp(OPERATIONS[i].name, names[k]) == 0 &&
                (count < 2 || strcmp(arguments[1], names[k]) == 0))
                try_operation(&OPERATIONS[i], only);
    scene_remove();
    printf("%u faults\n", faults);
    return faults ? 1 : 0;
}
