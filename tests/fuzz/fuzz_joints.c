/* A list of joints: read or refused with words and a line, and the same however the bytes are cut. */
#include "ovenproof/electrical.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void expect(bool holds)
{
    if (!holds)
        abort();
}

static ovp_status read_in_pieces(const char *bytes, size_t count, size_t piece,
                                 ovp_electrical_joint_list *list, ovp_error *error)
{
    static void *memory;
    if (memory == NULL)
        memory = malloc(ovp_electrical_joint_reader_size());
    expect(memory != NULL);
    ovp_electrical_joint_reader *reader =
        ovp_electrical_joint_reader_init(memory, OVP_TEXT_DEGREES_NONE, list);
    for (size_t at = 0; at < count; at += piece) {
        size_t part = count - at < piece ? count - at : piece;
        ovp_status status = ovp_electrical_joint_reader_feed(reader, bytes + at, part, error);
        if (status != OVP_OK)
            return status;
    }
    return ovp_electrical_joint_reader_end(reader, error);
}

static void check_list(const ovp_electrical_joint_list *list)
{
    static size_t latest[OVP_ELECTRICAL_JOINTS];
    ovp_electrical_joint_comparison found;
    expect(list->count > 0 && list->count <= OVP_ELECTRICAL_JOINTS);
    size_t count = ovp_electrical_joints_latest(list->joints, list->count, latest);
    expect(count > 0 && count <= list->count);
    if (ovp_electrical_joints_compare(list->joints, latest, count, NAN, &found))
        expect(found.index < list->count);
    for (size_t i = 0; i < count; i++) {
        ovp_electrical_joint_trend trend;
        const ovp_electrical_joint *joint = &list->joints[latest[i]];
        expect(joint->name[0] != '\0');
        if (ovp_electrical_joint_trend_of(list->joints, list->count, joint->name, 15.0, 100.0, &trend,
                                          NULL) == OVP_OK)
            expect(isfinite(trend.growth_mV_per_month) && trend.readings >= 2);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static ovp_electrical_joint_list whole, cut;
    ovp_error error = {0}, cut_error = {0};
    const char *bytes = (const char *)data;
    ovp_status status = read_in_pieces(bytes, size, size > 0 ? size : 1, &whole, &error);
    ovp_status cut_status = read_in_pieces(bytes, size, 3, &cut, &cut_error);
    expect(status == cut_status);
    if (status == OVP_OK) {
        check_list(&whole);
        expect(whole.count == cut.count);
    } else {
        expect(status == OVP_ERROR_DATA && error.what[0] != '\0' && error.hint[0] != '\0');
        expect(strcmp(error.what, cut_error.what) == 0 && error.line == cut_error.line);
    }
    return 0;
}
