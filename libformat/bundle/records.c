/* Records over the set of slips: which there are, and their readings, made when asked for. */
#include <stdlib.h>

#include "base/error.h"
#include "base/hash.h"
#include "base/platform.h"
#include "bundle/bundle.h"
#include "records/table.h"

enum { AHEAD = 16 }; /* so many further on memory is asked for, that it is there when its turn comes */

static gl_span type_of(gl_span id) {
    const char *slash = memchr(id.text, '/', id.length);
    return (gl_span){id.text, slash ? (size_t)(slash - id.text) : id.length};
}

gl_span gl_record_id(const glassine_bundle *bundle, const glassine_record *record) {
    return gl_store_record(bundle->store, record->subject)->id;
}

const glassine_type_info *gl_type_of_id(gl_span id) {
    return gl_type_of(type_of(id));
}

/* Whose record a slip speaks on: its author's where the type is authored, else everybody's. */
static uint32_t author_for(const glassine_type_info *type, const gl_slip *slip) {
    return type && type->authored ? slip->author : GL_NONE;
}

/* Of a subject that has a record already it need not be found anew. */
static const glassine_type_info *type_of_slip(const glassine_bundle *bundle, const gl_slip *slip) {
    const glassine_record *known =
        slip->record < bundle->newest_room ? bundle->newest_of[slip->record] : NULL;
    return known ? glassine_type_at(known->type)
                 : gl_type_of_id(gl_store_record(bundle->store, slip->record)->id);
}

glassine_record *gl_bundle_record_of(const glassine_bundle *bundle, uint32_t subject, uint32_t author) {
    if (subject >= gl_store_records(bundle->store) || subject >= bundle->newest_room)
        return NULL;
    glassine_record *record = bundle->newest_of[subject];
    while (record && record->author != author)
        record = record->older;
    return record;
}

glassine_record *gl_bundle_record_on(const glassine_bundle *bundle, uint32_t subject) {
    glassine_record *first = NULL;
    if (subject >= gl_store_records(bundle->store) || subject >= bundle->newest_room)
        return NULL;
    for (glassine_record *it = bundle->newest_of[subject]; it; it = it->older)
        if (!first ||
            (it->author != GL_NONE && gl_span_compare(gl_store_person(bundle->store, it->author),
                                                      gl_store_person(bundle->store, first->author)) < 0))
            first = it;
    return first;
}

glassine_record *gl_bundle_record_of_slip(const glassine_bundle *bundle, uint32_t slip) {
    const gl_slip *it = gl_store_at(bundle->store, slip);
    return gl_bundle_record_of(bundle, it->record, author_for(type_of_slip(bundle, it), it));
}

/* Room for the newest record of each subject the store knows; new places are NULL. */
static bool reserve_subjects(glassine_bundle *bundle) {
    size_t before = bundle->newest_room, need = gl_store_records(bundle->store);
    if (need <= before)
        return true;
    void *grown = gl_grow(bundle->newest_of, &bundle->newest_room, need, sizeof(glassine_record *));
    if (!grown)
        return false;
    bundle->newest_of = grown;
    memset(bundle->newest_of + before, 0, (bundle->newest_room - before) * sizeof(glassine_record *));
    return gl_arena_reserve(bundle->arena,
                            (need - before) * sizeof(glassine_record)); /* mostly one for each */
}

static glassine_record *add_record(glassine_bundle *bundle, uint32_t slip, uint32_t subject, uint32_t author,
                                   const glassine_type_info *type) {
    void *grown =
        gl_grow(bundle->records, &bundle->record_room, bundle->record_count + 1, sizeof(glassine_record *));
    if (!grown)
        return NULL;
    bundle->records = grown;
    glassine_record *record = GL_ARENA_NEW(bundle->arena, glassine_record);
    if (!record)
        return NULL;
    *record = (glassine_record){
        .subject = subject, .author = author, .first_slip = slip, .type = (uint8_t)gl_type_place(type)};
    record->older = bundle->newest_of[subject];
    bundle->newest_of[subject] = record;
    bundle->records[bundle->record_count++] = record;
    return record;
}

static void forget_reading(glassine_record *record) {
    if (!record->made)
        return;
    record->made->reading = NULL;
    record->made->fields = NULL;
}

/* Every record is to be indexed by name again. */
static glassine_status name_anew(glassine_bundle *bundle, glassine_error *error) {
    gl_names_forget(bundle->names);
    for (size_t i = 0; i < bundle->record_count; i++)
        bundle->records[i]->queued = false;
    for (size_t i = 0; i < bundle->record_count; i++)
        if (!gl_names_queue(bundle->names, glassine_record_info(bundle, bundle->records[i]),
                            bundle->records[i]))
            return gl_bundle_fail_memory(bundle, error);
    return GLASSINE_OK;
}

glassine_status gl_bundle_trust_changed(glassine_bundle *bundle, glassine_error *error) {
    gl_trust_changed(bundle->trust);
    for (size_t i = 0; i < bundle->record_count; i++)
        forget_reading(bundle->records[i]);
    bundle->generation++;
    return name_anew(bundle, error);
}

/* Does the slip, on a record of this type, bear on whose word counts? */
static bool touches_trust(const glassine_bundle *bundle, uint32_t slip, const glassine_type_info *type) {
    return type && strcmp(type->name, "contributor") == 0 &&
           gl_trust_touched_by(gl_store_record(bundle->store, gl_store_at(bundle->store, slip)->record)->id,
                               gl_store_line(bundle->store, slip));
}

/* The id of its record is to be looked at soon: it lies in a line of the log. */
static void expect_slip(const glassine_bundle *bundle, uint32_t slip) {
    if (slip < gl_store_count(bundle->store))
        gl_platform_prefetch(
            gl_store_record(bundle->store, gl_store_at(bundle->store, slip)->record)->id.text);
}

glassine_status gl_bundle_index(glassine_bundle *bundle, glassine_error *error) {
    if (!reserve_subjects(bundle))
        return gl_fail_memory(error);
    bundle->generation++;
    bool judged_anew = false;
    for (uint32_t slip = bundle->indexed_slips; slip < gl_store_count(bundle->store); slip++) {
        expect_slip(bundle, slip + AHEAD);
        const gl_slip *it = gl_store_at(bundle->store, slip);
        const glassine_type_info *type = type_of_slip(bundle, it);
        uint32_t author = author_for(type, it);
        glassine_record *record = gl_bundle_record_of(bundle, it->record, author);
        if (!record)
            record = add_record(bundle, slip, it->record, author, type);
        if (!record)
            return gl_fail_memory(error);
        forget_reading(record);
        judged_anew = judged_anew || touches_trust(bundle, slip, type);
        if (!gl_names_queue(bundle->names, type, record))
            return gl_fail_memory(error);
        bundle->indexed_slips = slip + 1;
    }
    return judged_anew ? gl_bundle_trust_changed(bundle, error) : GLASSINE_OK;
}

glassine_status gl_bundle_index_as(glassine_bundle *bundle, const glassine_bundle *of,
                                   glassine_error *error) {
    uint32_t slips = gl_store_count(bundle->store);
    if (!reserve_subjects(bundle))
        return gl_fail_memory(error);
    bundle->generation++;
    for (size_t i = 0; i < of->record_count && of->records[i]->first_slip < slips; i++) {
        const glassine_record *like = of->records[i];
        const glassine_type_info *type = glassine_type_at(like->type);
        glassine_record *record = add_record(bundle, like->first_slip, like->subject, like->author, type);
        if (!record || !gl_names_queue(bundle->names, type, record))
            return gl_fail_memory(error);
    }
    bundle->indexed_slips = slips;
    return GLASSINE_OK;
}

bool gl_bundle_share_readings(glassine_bundle *bundle, const glassine_bundle *of) {
    uint32_t slips = gl_store_count(bundle->store);
    for (size_t i = 0; i < bundle->record_count; i++) {
        const gl_made *made = of->records[i]->made;
        glassine_record *record = bundle->records[i];
        if (!made || !made->reading || gl_store_record(of->store, record->subject)->last >= slips)
            continue;
        if (!gl_record_made(bundle, record))
            return false;
        record->made->reading = made->reading;
    }
    return true;
}

void gl_bundle_cut(glassine_bundle *bundle, uint32_t count) {
    bool judged_anew = false;
    for (uint32_t slip = count; slip < gl_store_count(bundle->store); slip++)
        judged_anew = judged_anew ||
                      touches_trust(bundle, slip, type_of_slip(bundle, gl_store_at(bundle->store, slip)));
    for (uint32_t slip = count; slip < bundle->indexed_slips; slip++) {
        glassine_record *record = gl_bundle_record_of_slip(bundle, slip);
        if (record)
            forget_reading(record);
    }
    while (bundle->record_count && bundle->records[bundle->record_count - 1]->first_slip >= count) {
        glassine_record *last = bundle->records[--bundle->record_count];
        bundle->newest_of[last->subject] = last->older;
    }
    if (bundle->indexed_slips > count)
        bundle->indexed_slips = count;
    bundle->generation++;
    name_anew(bundle, NULL); /* whether memory ran out there is noted of the bundle */
    gl_store_cut(bundle->store, count);
    gl_trust_cut(bundle->trust, count);
    if (judged_anew)
        gl_bundle_trust_changed(bundle, NULL);
}

gl_made *gl_record_made(glassine_bundle *bundle, glassine_record *record) {
    if (!record->made) {
        record->made = GL_ARENA_NEW(bundle->arena, gl_made);
        if (record->made)
            *record->made = (gl_made){0};
        else
            bundle->failed = true;
    }
    return record->made;
}

glassine_status gl_record_reading(glassine_bundle *bundle, glassine_record *record,
                                  const gl_reading **reading, glassine_error *error) {
    gl_made *of = gl_record_made(bundle, record);
    if (!of)
        return gl_fail_memory(error);
    if (!of->reading) {
        gl_reading *made = GL_ARENA_NEW(bundle->arena, gl_reading);
        if (!made)
            return gl_bundle_fail_memory(bundle, error);
        if (gl_reading_make(bundle->store, record->subject, record->author, bundle->arena, made, NULL, error))
            return gl_bundle_fail_memory(bundle, error);
        of->reading = made;
    }
    *reading = of->reading;
    return GLASSINE_OK;
}

/* The number of a slip on this record. */
static glassine_status find_slip(glassine_bundle *bundle, glassine_record *record, const char *hex,
                                 uint32_t *slip, glassine_error *error) {
    gl_digest digest;
    *slip = gl_digest_parse(gl_span_of(hex), &digest) ? gl_store_find(bundle->store, &digest) : GL_NONE;
    if (*slip == GL_NONE)
        return gl_fail(error, GLASSINE_REFUSED, NULL, bundle->path, "it has no slip %.12s…", hex);
    if (gl_bundle_record_of_slip(bundle, *slip) != record)
        return gl_fail(error, GLASSINE_REFUSED, NULL, bundle->path, "slip %.12s… is on another record", hex);
    int counts = gl_store_counts(bundle->store, *slip);
    if (counts < 0)
        return gl_fail_memory(error);
    return counts
               ? GLASSINE_OK
               : gl_fail(error, GLASSINE_REFUSED, NULL, bundle->path, "slip %.12s… does not count here", hex);
}

glassine_status gl_record_reading_at(glassine_bundle *bundle, glassine_record *record,
                                     const char (*slips)[65], size_t count, gl_reading *reading,
                                     glassine_error *error) {
    uint32_t *numbers = GL_ARENA_ARRAY(bundle->arena, uint32_t, count + 1);
    glassine_status status = numbers ? GLASSINE_OK : gl_fail_memory(error);
    for (size_t i = 0; i < count && !status; i++)
        status = find_slip(bundle, record, slips[i], &numbers[i], error);
    return status ? status
                  : gl_reading_make_at(bundle->store, record->subject, record->author, numbers, count,
                                       bundle->arena, reading, error);
}

enum { FEW_FIELDS = 16 }; /* so many are sooner compared one by one than halved */

/* Names mostly differ in length or in the first letter. */
static bool is_named(const gl_read_field *field, gl_span name) {
    return field->name_length == name.length && name.length && field->name_text[0] == name.text[0] &&
           memcmp(field->name_text, name.text, name.length) == 0;
}

/* Fields are sorted by name, then reach. */
const gl_read_field *gl_reading_named(const gl_reading *reading, gl_span name, const gl_read_field **end) {
    size_t low = 0, high = reading->field_count;
    while (high - low > FEW_FIELDS) {
        size_t middle = low + (high - low) / 2;
        if (gl_span_compare(gl_read_name(&reading->fields[middle]), name) < 0)
            low = middle + 1;
        else
            high = middle + 1; /* others of this name may stand before it */
    }
    while (low < high && !is_named(&reading->fields[low], name))
        low++;
    size_t behind = low;
    while (behind < reading->field_count && is_named(&reading->fields[behind], name))
        behind++;
    *end = reading->fields + behind;
    return reading->fields + low;
}

const gl_read_field *gl_reading_field(const gl_reading *reading, gl_span name, glassine_reach reach) {
    const gl_read_field *end, *field = gl_reading_named(reading, name, &end);
    while (field < end && field->reach != reach)
        field++;
    return field < end ? field : NULL;
}

glassine_span glassine_record_id(const glassine_bundle *bundle, const glassine_record *record) {
    return gl_record_id(bundle, record);
}

glassine_span glassine_record_type(const glassine_bundle *bundle, const glassine_record *record) {
    const glassine_type_info *type = glassine_type_at(record->type);
    return type ? gl_span_of(type->name) : type_of(gl_record_id(bundle, record));
}

const glassine_type_info *glassine_record_info(const glassine_bundle *bundle, const glassine_record *record) {
    (void)bundle;
    return glassine_type_at(record->type);
}

glassine_span glassine_record_author(const glassine_bundle *bundle, const glassine_record *record) {
    return record->author == GL_NONE ? GL_NO_SPAN : gl_store_person(bundle->store, record->author);
}

glassine_span glassine_record_key(glassine_bundle *bundle, glassine_record *record) {
    gl_span id = gl_record_id(bundle, record);
    if (record->author == GL_NONE)
        return id;
    gl_span author = gl_store_person(bundle->store, record->author);
    gl_span uuid = gl_span_part(author, type_of(author).length, author.length); /* with its slash */
    char *key = GL_ARENA_ARRAY(bundle->arena, char, id.length + uuid.length + 1);
    if (!key)
        return GL_NO_SPAN;
    memcpy(key, id.text, id.length);
    memcpy(key + id.length, uuid.text, uuid.length);
    key[id.length + uuid.length] = '\0';
    return (gl_span){key, id.length + uuid.length};
}

glassine_record *glassine_bundle_record(glassine_bundle *bundle, glassine_span id, glassine_span author) {
    uint32_t subject = gl_store_record_find(bundle->store, id);
    if (!author.text)
        return gl_bundle_record_on(bundle, subject);
    uint32_t person = gl_store_person_find(bundle->store, author);
    return subject == GL_NONE || person == GL_NONE ? NULL : gl_bundle_record_of(bundle, subject, person);
}

glassine_status glassine_record_latest(glassine_bundle *bundle, glassine_record *record, glassine_reach reach,
                                       const char (**slips)[65], size_t *count, glassine_error *error) {
    gl_digest *heads = NULL;
    *slips = NULL;
    glassine_status status = gl_reading_heads(bundle->store, record->subject, record->author, reach,
                                              bundle->arena, &heads, count, error);
    if (status || !*count)
        return status;
    char(*hex)[65] = gl_arena_array(bundle->arena, *count, sizeof *hex);
    if (!hex)
        return gl_fail_memory(error);
    for (size_t i = 0; i < *count; i++)
        gl_digest_hex(&heads[i], hex[i]);
    *slips = (const char(*)[65])hex;
    return GLASSINE_OK;
}

bool glassine_record_incomplete(glassine_bundle *bundle, glassine_record *record) {
    const gl_reading *reading = NULL;
    return gl_record_reading(bundle, record, &reading, NULL) == GLASSINE_OK && reading->incomplete;
}

static bool says_aside(const gl_reading *reading) {
    const gl_read_field *end, *field = gl_reading_named(reading, GL_SPAN("set_aside"), &end);
    while (field < end && (field->contested || !gl_json_true(gl_read_value(field, 0))))
        field++;
    return field < end;
}

/* The keeper's number in the store; GL_NONE: the keeper said nothing. */
static uint32_t keeper_of(glassine_bundle *bundle) {
    gl_span keeper = gl_span_of(bundle->about.keeper);
    if (bundle->keeper_number >= gl_store_people(bundle->store) ||
        !gl_span_equal(gl_store_person(bundle->store, bundle->keeper_number), keeper))
        bundle->keeper_number = gl_store_person_find(bundle->store, keeper);
    return bundle->keeper_number;
}

/* What the keeper's own slips on this subject amount to decides; others' are proposals (spec/readings.md). */
bool glassine_record_set_aside(glassine_bundle *bundle, glassine_record *record) {
    uint32_t keeper = keeper_of(bundle);
    const gl_reading *reading = NULL;
    if (keeper == GL_NONE)
        return false;
    if (record->author != GL_NONE) {
        glassine_record *keepers = gl_bundle_record_of(bundle, record->subject, keeper);
        return keepers && gl_record_reading(bundle, keepers, &reading, NULL) == GLASSINE_OK &&
               says_aside(reading);
    }
    if (gl_record_reading(bundle, record, &reading, NULL) != GLASSINE_OK)
        return false;
    const gl_read_field *end;
    gl_reading own;
    if (gl_reading_named(reading, GL_SPAN("set_aside"), &end) == end)
        return false;
    if (gl_reading_make(bundle->store, record->subject, keeper, bundle->arena, &own, NULL, NULL)) {
        bundle->failed = true;
        return false;
    }
    return says_aside(&own);
}

uint32_t gl_record_newest(const glassine_bundle *bundle, const glassine_record *record) {
    if (record->author == GL_NONE)
        return gl_store_record(bundle->store, record->subject)->last;
    uint32_t voice = gl_store_voice_find(bundle->store, record->subject, record->author);
    return voice == GL_NONE ? GL_NONE : gl_store_voice(bundle->store, voice)->last;
}

/* First where the line is, then, half-way, the line. */
void gl_records_expect(const glassine_bundle *bundle, glassine_record *const *records, size_t count,
                       size_t at) {
    enum { PIECE = 64, LINE_MOST = 6 * PIECE };
    uint32_t far = at + AHEAD < count ? gl_record_newest(bundle, records[at + AHEAD]) : GL_NONE;
    uint32_t near = at + AHEAD / 2 < count ? gl_record_newest(bundle, records[at + AHEAD / 2]) : GL_NONE;
    if (far != GL_NONE)
        gl_platform_prefetch(gl_store_at(bundle->store, far));
    gl_span line = near != GL_NONE ? gl_store_line(bundle->store, near) : GL_NO_SPAN;
    for (size_t from = 0; from < line.length && from < LINE_MOST; from += PIECE)
        gl_platform_prefetch(line.text + from);
}

uint32_t gl_record_before(const glassine_bundle *bundle, const glassine_record *record, uint32_t slip) {
    const gl_slip *it = gl_store_at(bundle->store, slip);
    return record->author == GL_NONE ? it->previous : it->own_previous;
}

bool glassine_record_counts(glassine_bundle *bundle, glassine_record *record) {
    uint32_t slip = gl_record_newest(bundle, record);
    int counts = 0;
    while (slip != GL_NONE && (counts = gl_store_counts(bundle->store, slip)) == 0)
        slip = gl_record_before(bundle, record, slip);
    bundle->failed = bundle->failed || counts < 0;
    return slip != GL_NONE;
}

bool gl_record_left_out(glassine_bundle *bundle, glassine_record *record) {
    return !glassine_record_counts(bundle, record) || glassine_record_set_aside(bundle, record);
}
