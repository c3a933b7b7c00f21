/* guide: which guide a name, or a line of words, leads to. */
#include "command/guide.h"

#include <string.h>

/* Words of a complaint, rather than a name that was mistyped. */
enum {
    WORDS_OF_A_COMPLAINT = 2,
};

static ovp_status take_guide(guide_session *session, const char *path, const char *also, const char *line,
                             ovp_error *error)
{
    (void)ovp_copy_string(session->path, sizeof session->path, ovp_span_of(path));
    (void)ovp_copy_string(session->words, sizeof session->words, ovp_span_of(line));
    session->also_path[0] = '\0';
    ovp_status status = lua_guide_read(path, &session->about, error);
    if (status == OVP_OK && also[0] != '\0' && lua_guide_read(also, &session->also, NULL) == OVP_OK)
        (void)ovp_copy_string(session->also_path, sizeof session->also_path, ovp_span_of(also));
    return status;
}

bool guide_choose_by_words(guide_session *session, const char *line)
{
    lua_guide_choice choice;
    ovp_error ignored = {0};
    lua_guide_sort(line, &choice);
    return choice.path[0] != '\0' && take_guide(session, choice.path, choice.also, line, &ignored) == OVP_OK;
}

void guide_hear(guide_session *session, const char *line)
{
    lua_guide_choice choice;
    ovp_error ignored = {0};
    lua_guide_sort(line, &choice);
    if (strcmp(choice.path, session->path) == 0 && strcmp(line, session->about.title) != 0)
        (void)take_guide(session, choice.path, choice.also, line, &ignored);
}

ovp_status guide_choose(guide_session *session, const char *line, ovp_error *error)
{
    char path[LUA_GUIDE_PATH_SIZE];
    ovp_status status =
        lua_find("guides", line[0] == '\0' ? "any-complaint" : line, path, sizeof path, error);
    if (status == OVP_OK)
        return take_guide(session, path, "", "", error);
    if (guide_choose_by_words(session, line))
        return OVP_OK;
    if (lua_guide_words_in(line) < WORDS_OF_A_COMPLAINT)
        return status;
    ovp_error missing = {0};
    if (lua_find("guides", "any-complaint", path, sizeof path, &missing) != OVP_OK)
        return status;
    return take_guide(session, path, "", line, error);
}
