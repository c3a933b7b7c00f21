/* guide: the shop's own calls. A case that was closed with what it turned out to be counts as one. */
#include "command/guide.h"

#include <string.h>

enum {
    MOST = 2048, /* calls that are looked at, the newest first: older ones say little about today's ovens */
};

/* Read once a run: a list of open cases asks again for each of them. */
static struct {
    bool read;
    size_t count;
    struct {
        const ovp_diagnosis_fault *fault;
        ovp_diagnosis_context context;
        char name[STORE_CASE_WORD];
    } calls[MOST];
} closed;

static void note_call(void *context, const store_case *one, const ovp_error *wrong)
{
    (void)context;
    (void)wrong;
    if (one == NULL || !one->closed || closed.count == MOST)
        return;
    const ovp_diagnosis_fault *fault = ovp_diagnosis_fault_named(one->closed_fault);
    if (fault == NULL || !ovp_diagnosis_context_named(one->context, &closed.calls[closed.count].context))
        return;
    closed.calls[closed.count].fault = fault;
    (void)ovp_copy_string(closed.calls[closed.count].name, STORE_CASE_WORD, ovp_span_of(one->name));
    closed.count++;
}

ovp_status guide_own_calls(guide_session *session, ovp_error *error)
{
    if (!closed.read) {
        const ovp_status status = store_case_each(note_call, NULL, error);
        if (status != OVP_OK)
            return status;
        closed.read = true;
    }
    session->own_calls = 0;
    for (size_t f = 0; f < OVP_DIAGNOSIS_CAUSES; f++)
        session->own[f] = (ovp_diagnosis_own){ovp_diagnosis_fault_at(f), 0};
    for (size_t i = 0; i < closed.count; i++) {
        const bool itself = session->kept != NULL && strcmp(session->kept->name, closed.calls[i].name) == 0;
        if (itself || closed.calls[i].context != session->settings.context)
            continue;
        session->own[closed.calls[i].fault - ovp_diagnosis_fault_at(0)].calls++;
        session->own_calls++;
    }
    session->settings.own = session->own_calls > 0 ? session->own : NULL;
    session->settings.own_count = session->own_calls > 0 ? OVP_DIAGNOSIS_CAUSES : 0;
    return OVP_OK;
}
