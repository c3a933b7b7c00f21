/*
 * A joint judged by the library:
 *     cc joint.c -lovenproof -lm && ./a.out
 */
#include <ovenproof/electrical.h>

#include <math.h>
#include <stdio.h>

int main(void)
{
    ovp_error error = {0};
    ovp_electrical_joint joint;
    ovp_electrical_joint_result result;

    ovp_electrical_joint_init(&joint);
    joint.drop_mV = 96;
    joint.current_A = 12;
    if (ovp_electrical_joint_judge(&joint, 15, &result, &error) != OVP_OK) {
        fprintf(stderr, "%s\n", error.what);
        return 1;
    }
    printf("%.0f mV, %.1f W at 15 A: %s, %s\n", result.full_drop_mV, result.full_heat_W,
           ovp_electrical_grade_name(result.grade), result.drop_action);
    return 0;
}
