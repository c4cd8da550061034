#include "plating/frame.h"

#include <stdlib.h>

/* Offsets beyond this leave every plate; holding them here keeps sums within bounds. */
#define OFFSET_MOST INT64_C(1000000000)

bool gl_tied_make(const gl_standing_question *question, gl_tied *tied) {
    size_t stamps = question->stamp_count;
    *tied = (gl_tied){.question = question};
    tied->first = calloc(stamps + 2, sizeof *tied->first);
    tied->ties = calloc((size_t)question->tie_count * 2 + 1, sizeof *tied->ties);
    tied->member_of = calloc(stamps + 1, sizeof *tied->member_of);
    tied->without = calloc((size_t)question->source_count + 1, sizeof *tied->without);
    if (!tied->first || !tied->ties || !tied->member_of || !tied->without)
        return false;
    for (uint32_t i = 0; i < question->tie_count; i++) {
        tied->first[question->ties[i].a + 2]++;
        tied->first[question->ties[i].b + 2]++;
    }
    for (size_t s = 2; s < stamps + 2; s++)
        tied->first[s] += tied->first[s - 1];
    for (uint32_t i = 0; i < question->tie_count; i++) {
        tied->ties[tied->first[question->ties[i].a + 1]++] = i;
        tied->ties[tied->first[question->ties[i].b + 1]++] = i;
    }
    return true;
}

void gl_tied_free(gl_tied *tied) {
    free(tied->first);
    free(tied->ties);
    free(tied->member_of);
    free(tied->without);
}

static uint32_t other_end(const gl_tie *tie, uint32_t stamp) {
    return tie->a == stamp ? tie->b : tie->a;
}

static int number_order(const void *left, const void *right) {
    uint32_t a = *(const uint32_t *)left, b = *(const uint32_t *)right;
    return a < b ? -1 : a > b;
}

uint32_t gl_tied_component(const gl_tied *tied, uint32_t stamp, bool *seen, uint32_t *stamps) {
    uint32_t count = 0;
    stamps[count++] = stamp;
    seen[stamp] = true;
    for (uint32_t next = 0; next < count; next++) {
        for (uint32_t i = tied->first[stamps[next]]; i < tied->first[stamps[next] + 1]; i++) {
            uint32_t other = other_end(&tied->question->ties[tied->ties[i]], stamps[next]);
            if (seen[other])
                continue;
            seen[other] = true;
            stamps[count++] = other;
        }
    }
    qsort(stamps, count, sizeof *stamps, number_order);
    return count;
}

/* ---- laying out ---- */

typedef struct laying {
    gl_tied *tied;
    const bool *without;
    gl_frame *frame;
    uint32_t *queue;
    uint32_t *printing; /* union of members by printing: a parent each */
} laying;

static uint32_t printing_root(uint32_t *parent, uint32_t member) {
    while (parent[member] != member)
        member = parent[member] = parent[parent[member]];
    return member;
}

static int64_t held(int64_t offset) {
    return offset > OFFSET_MOST ? OFFSET_MOST : offset < -OFFSET_MOST ? -OFFSET_MOST : offset;
}

/* Follows one tie from a member that lies already. */
static void follow(laying *l, uint32_t from, const gl_tie *tie, uint32_t *queued) {
    gl_member *at = &l->frame->members[from];
    uint32_t to = l->tied->member_of[other_end(tie, at->stamp)];
    int64_t sign = tie->a == at->stamp ? 1 : -1;
    int64_t down = held(at->down + sign * tie->down), across = held(at->across + sign * tie->across);
    gl_member *other = &l->frame->members[to];
    if (tie->same_state)
        l->printing[printing_root(l->printing, to)] = printing_root(l->printing, from);
    if (other->piece == at->piece) {
        l->frame->pieces[at->piece].torn |= other->down != down || other->across != across;
        return;
    }
    other->piece = at->piece;
    other->down = down;
    other->across = across;
    l->queue[(*queued)++] = to;
}

static void widen(gl_piece *piece, const gl_member *member) {
    piece->least_down = member->down < piece->least_down ? member->down : piece->least_down;
    piece->most_down = member->down > piece->most_down ? member->down : piece->most_down;
    piece->least_across = member->across < piece->least_across ? member->across : piece->least_across;
    piece->most_across = member->across > piece->most_across ? member->across : piece->most_across;
}

static void lay_piece(laying *l, uint32_t first) {
    gl_frame *frame = l->frame;
    uint32_t number = frame->piece_count++, queued = 0;
    gl_piece *piece = &frame->pieces[number];
    *piece = (gl_piece){.first = first};
    frame->members[first].piece = number;
    l->queue[queued++] = first;
    for (uint32_t next = 0; next < queued; next++) {
        uint32_t at = l->queue[next], stamp = frame->members[at].stamp;
        widen(piece, &frame->members[at]);
        for (uint32_t i = l->tied->first[stamp]; i < l->tied->first[stamp + 1]; i++) {
            const gl_tie *tie = &l->tied->question->ties[l->tied->ties[i]];
            if (!l->without || !l->without[tie->source])
                follow(l, at, tie, &queued);
        }
    }
}

static void number_printings(laying *l) {
    gl_frame *frame = l->frame;
    for (uint32_t i = 0; i < frame->member_count; i++)
        frame->members[i].printing = GL_NONE;
    for (uint32_t i = 0; i < frame->member_count; i++) {
        gl_member *root = &frame->members[printing_root(l->printing, i)];
        if (root->printing == GL_NONE)
            root->printing = frame->printing_count++;
        frame->members[i].printing = root->printing;
    }
}

bool gl_frame_lay(gl_tied *tied, const uint32_t *stamps, uint32_t count, const bool *without,
                  gl_frame *frame) {
    *frame = (gl_frame){.member_count = count};
    frame->members = calloc(count, sizeof *frame->members);
    frame->pieces = calloc(count, sizeof *frame->pieces);
    laying l = {.tied = tied, .without = without, .frame = frame};
    l.queue = calloc(count, sizeof *l.queue);
    l.printing = calloc(count, sizeof *l.printing);
    bool room = frame->members && frame->pieces && l.queue && l.printing;
    for (uint32_t i = 0; room && i < count; i++) {
        frame->members[i] = (gl_member){.stamp = stamps[i], .piece = GL_NONE};
        tied->member_of[stamps[i]] = i;
        l.printing[i] = i;
    }
    for (uint32_t i = 0; room && i < count; i++)
        if (frame->members[i].piece == GL_NONE)
            lay_piece(&l, i);
    if (room)
        number_printings(&l);
    free(l.queue);
    free(l.printing);
    if (!room)
        gl_frame_free(frame);
    return room;
}

void gl_frame_free(gl_frame *frame) {
    free(frame->members);
    free(frame->pieces);
    *frame = (gl_frame){0};
}
