/* A description is read or refused with words; what was read is written, and reads back the same. */
#include "lua/lua.h"
#include "ovenproof/electrical.h"
#include "ovenproof/thermal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

typedef struct text {
    char bytes[65536];
    size_t count;
} text;

static void expect(bool holds)
{
    if (!holds)
        abort();
}

static ovp_status append(void *context, const char *bytes, size_t count)
{
    text *to = context;
    if (to->count + count > sizeof to->bytes)
        return OVP_ERROR_SYSTEM;
    memcpy(to->bytes + to->count, bytes, count);
    to->count += count;
    return OVP_OK;
}

static ovp_status take_leaf(void *context, const char *path, ovp_oven_leaf kind, const char *value,
                            ovp_error *error)
{
    ovp_error warning = {0};
    return ovp_oven_set(context, path, kind, value, &warning, error);
}

static ovp_status read_oven(const char *bytes, size_t count, ovp_oven *oven, ovp_error *error)
{
    ovp_oven_init(oven);
    ovp_status status = lua_read_data_bytes(bytes, count, "oven.lua", take_leaf, oven, error);
    return status == OVP_OK ? ovp_oven_check(oven, error) : status;
}

/* The rooms that stand on a description take any that passed the check. */
static void use(const ovp_oven *oven)
{
    ovp_electrical_load load;
    ovp_electrical_circuit circuit;
    ovp_electrical_question question;
    ovp_electrical_review review;
    ovp_thermal_conditions conditions;
    ovp_thermal_parameters parameters;
    ovp_error error = {0};
    if (ovp_electrical_load_of(oven, (double)NAN, &load, &error) == OVP_OK) {
        expect(load.full_W >= 0 && load.full_A >= 0);
        ovp_electrical_circuit_of(oven, &load, &circuit, &error);
    }
    ovp_electrical_question_init(&question);
    expect(ovp_electrical_review_of(oven, &question, &review, &error) == OVP_OK);
    expect(review.failure_count > 0 && review.failure_count <= OVP_ELECTRICAL_FAILURES);
    ovp_thermal_conditions_init(&conditions);
    ovp_thermal_from_oven(oven, &conditions, &parameters, &error);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static ovp_oven oven, again;
    static text written, second;
    ovp_error error = {0};
    written.count = second.count = 0;
    if (read_oven((const char *)data, size, &oven, &error) != OVP_OK) {
        expect(error.what[0] != '\0');
        return 0;
    }
    use(&oven);
    expect(ovp_oven_write(&oven, (ovp_sink){append, &written}) == OVP_OK);
    expect(read_oven(written.bytes, written.count, &again, &error) == OVP_OK);
    expect(ovp_oven_write(&again, (ovp_sink){append, &second}) == OVP_OK);
    expect(written.count == second.count && memcmp(written.bytes, second.bytes, written.count) == 0);
    return 0;
}
