/* glassine_engraver FOLDER: draws the demo's scans, as a keeper of Sorrel Islands stamps might have made
 * them. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "die.h"
#include "lists.h"
#include "pictures.h"
#include "scene.h"

#define HANDS_MOST 8

static bool draw_scan(const char *folder, const scan *what, const scene *s) {
    char name[128], path[4096];
    scan_name(what, name, sizeof name);
    snprintf(path, sizeof path, "%s/%s", folder, name);
    view v = scene_view(s, what->side);
    unsigned char *pixels = scene_picture(s, &v);
    bool done = pixels && picture_write(path, what->kind, pixels, v.width, v.height, v.dpi, v.photograph);
    free(pixels);
    return done;
}

static bool draw_item(const char *folder, const item *of, const raster *die) {
    scene s;
    bool done = scene_make(&s, of, die);
    for (size_t i = 0; done && i < SCAN_COUNT; i++) {
        scan what = scan_at(i);
        done = what.of != of || draw_scan(folder, &what, &s);
    }
    scene_free(&s);
    return done;
}

/* Every so-manieth item, the covers dealt out first since they take longest. */
static bool draw_share(const char *folder, long hand, long hands) {
    raster die;
    bool done = die_engrave(&die);
    long dealt = 0;
    for (int covers = 1; covers >= 0; covers--)
        for (size_t i = 0; done && i < ITEM_COUNT; i++)
            if (item_is_cover(ITEMS + i) == covers && dealt++ % hands == hand)
                done = draw_item(folder, ITEMS + i, &die);
    raster_free(&die);
    return done;
}

static bool draw_all(const char *folder) {
    long hands = sysconf(_SC_NPROCESSORS_ONLN);
    hands = hands < 1 ? 1 : hands > HANDS_MOST ? HANDS_MOST : hands;
    pid_t at_work[HANDS_MOST];
    for (long hand = 0; hand < hands; hand++) {
        at_work[hand] = fork();
        if (at_work[hand] == 0)
            _exit(draw_share(folder, hand, hands) ? 0 : 1);
    }
    bool done = true;
    for (long hand = 0; hand < hands; hand++) {
        int status = 0;
        if (at_work[hand] < 0 || waitpid(at_work[hand], &status, 0) < 0 || status != 0)
            done = false;
    }
    return done;
}

int main(int argc, char **argv) {
    if (argc != 2) {
        fputs("usage: glassine_engraver FOLDER (which must not exist)\n", stderr);
        return 2;
    }
    if (mkdir(argv[1], 0777) != 0) {
        perror(argv[1]);
        return 2;
    }
    if (!lists_write(argv[1]) || !draw_all(argv[1])) {
        fprintf(stderr, "glassine_engraver: %s: not everything could be drawn; is the disk full?\n", argv[1]);
        return 3;
    }
    return 0;
}
