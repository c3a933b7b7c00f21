/* What to post: the fewest parts that mend most of what is left. */
#include "diagnosis/diagnosis_internal.h"

#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static const struct part_row {
    const char *part, *text, *mends;
} rows[] = {
#include "parts.inc"
};

enum {
    PARTS = COUNT(rows),
    TRIED = 4, /* every set of this many parts is looked at; past that the best part is added each time */
};

static bool is_no_part(size_t part)
{
    return strcmp(rows[part].part, "none") == 0;
}

bool ovp_diagnosis_part_mends(const char *part, const char *fault)
{
    for (size_t i = 0; i < PARTS; i++) {
        if (strcmp(rows[i].part, part) == 0 && diagnosis_has_word(rows[i].mends, ' ', fault, strlen(fault))) {
            return true;
        }
    }
    return false;
}

const char *ovp_diagnosis_part_at(size_t index)
{
    return index < PARTS ? rows[index].part : NULL;
}

const char *ovp_diagnosis_part_faults(size_t index)
{
    return index < PARTS ? rows[index].mends : "";
}

/* The causes that are left, and as bits which parts mend each. */
typedef struct left_over {
    const ovp_diagnosis_cause *causes;
    size_t count;
    uint64_t mended_by[OVP_DIAGNOSIS_CAUSES];
    uint64_t no_part; /* bits of the rows that are no part */
    double all;
} left_over;

static void look_at(const ovp_diagnosis_cause causes[], size_t count, left_over *left)
{
    *left = (left_over){.causes = causes, .count = count};
    for (size_t part = 0; part < PARTS; part++) {
        left->no_part |= is_no_part(part) ? UINT64_C(1) << part : 0;
        for (size_t i = 0; i < count; i++) {
            left->mended_by[i] |=
                ovp_diagnosis_part_mends(rows[part].part, causes[i].fault->id) ? UINT64_C(1) << part : 0;
        }
    }
    for (size_t i = 0; i < count; i++) {
        left->all += causes[i].probability;
    }
}

/* Of all that is left, the share that these parts mend, together with the causes that need no part. */
static double mended(const left_over *left, uint64_t parts)
{
    double sum = 0;
    for (size_t i = 0; i < left->count; i++) {
        sum += (left->mended_by[i] & (parts | left->no_part)) != 0 ? left->causes[i].probability : 0;
    }
    return left->all > 0 ? sum / left->all : 0;
}

/* A set of parts, and the share that it mends. */
typedef struct choice {
    uint64_t parts;
    double share;
} choice;

static void consider(const left_over *left, uint64_t parts, choice *best)
{
    static const double tie = 1e-9; /* the earlier row */
    const double share = mended(left, parts);
    if (share > best->share + tie) {
        *best = (choice){parts, share};
    }
}

static uint64_t lowest(uint64_t bits)
{
    return bits & (~bits + 1);
}

/* The next larger number with as many bits: every set of a size, one after the other. */
static uint64_t next_set(uint64_t parts)
{
    const uint64_t low = lowest(parts), carried = parts + low;
    return carried | ((parts ^ carried) >> 2) / low;
}

static void try_sets(const left_over *left, size_t size, choice *best)
{
    const uint64_t end = UINT64_C(1) << PARTS;
    for (uint64_t parts = (UINT64_C(1) << size) - 1; parts < end; parts = next_set(parts)) {
        if ((parts & left->no_part) == 0) {
            consider(left, parts, best);
        }
    }
}

static choice choose(const left_over *left, double wanted)
{
    choice best = {0, mended(left, 0)};
    for (size_t size = 1; best.share < wanted && size <= PARTS; size++) {
        const uint64_t before = best.parts;
        if (size <= TRIED) {
            try_sets(left, size, &best);
        } else {
            for (size_t part = 0; part < PARTS; part++) {
                consider(left, before | UINT64_C(1) << part, &best);
            }
        }
        if (best.parts == before) {
            break;
        }
    }
    return best;
}

static void add_part(const left_over *left, size_t part, ovp_diagnosis_part found[], size_t capacity,
                     size_t *count)
{
    ovp_diagnosis_part one = {rows[part].part, rows[part].text, 0};
    for (size_t i = 0; i < left->count; i++) {
        one.mends += (left->mended_by[i] >> part & 1) != 0 ? left->causes[i].probability / left->all : 0;
    }
    size_t place = *count < capacity ? (*count)++ : capacity;
    for (; place > 0 && found[place - 1].mends < one.mends; place--) {
        if (place < capacity) {
            found[place] = found[place - 1];
        }
    }
    if (place < capacity) {
        found[place] = one;
    }
}

size_t ovp_diagnosis_parts(const ovp_diagnosis_cause causes[], size_t cause_count, ovp_diagnosis_part found[],
                           size_t capacity, double *covered)
{
    left_over left;
    look_at(causes, cause_count, &left);
    const choice best = choose(&left, diagnosis_figure(DIAGNOSIS_posted));
    *covered = best.share;
    size_t count = 0;
    for (size_t part = 0; part < PARTS; part++) {
        if ((best.parts >> part & 1) != 0) {
            add_part(&left, part, found, capacity, &count);
        }
    }
    return count;
}
