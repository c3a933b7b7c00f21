#include "command/beside.h"

#include "command/command.h"

enum {
    WIDEST = 100,
};

static size_t width(void)
{
    size_t columns = command_columns();
    return columns < WIDEST ? columns : WIDEST;
}

/* Drops the first blanks of what is written through it: the label stands there already. */
typedef struct after_label {
    ovp_sink to;
    size_t drop;
} after_label;

static ovp_status write_after_label(void *context, const char *bytes, size_t count)
{
    after_label *state = context;
    size_t dropped = count < state->drop ? count : state->drop;
    state->drop -= dropped;
    return dropped == count ? OVP_OK : state->to.write(state->to.context, bytes + dropped, count - dropped);
}

void command_say_beside(ovp_sink out, const char *label, size_t column, const char *text)
{
    (void)ovp_text_print(out, "%-*s", (int)column, label);
    after_label state = {out, column};
    ovp_sink sink = {write_after_label, &state};
    (void)ovp_text_fold(sink, text, width(), column, column);
}

void command_say(ovp_sink out, const char *text)
{
    (void)ovp_text_fold(out, text, width(), 0, 0);
}
