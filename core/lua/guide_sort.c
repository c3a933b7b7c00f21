/*
 * A complaint in a line of words, and the guide that it asks for. A guide lists phrases in the owner's words;
 * the more words of a phrase are found, the more it counts. Small slips of the keyboard are forgiven, word
 * endings do not matter, and a phrase does not reach over a comma, "and" or "but". When the line holds two
 * complaints the more dangerous one leads and the other is told along with it.
 */
#include "lua/lua_internal.h"

#include <stdlib.h>
#include <string.h>

enum {
    SORT_GUIDES = 48,
    SORT_MATCHES = 160,
    SORT_STRONG = 2, /* points of one word that a guide claims as its own */
    PHRASE_GAP = 2,  /* words that may stand between two of a phrase: "trips (the old) breaker" */
    STEM_LEAST = 3,
    SLIP_LEAST = 5,      /* shorter words must be right: "fuse" is not "use" */
    TWO_SLIPS_LEAST = 9, /* "ossilate" is near "oscillate"; "climbing" is not "clicking" */
};

/* ---- words -------------------------------------------------------------------------------------------- */

/* What ends a phrase, as a word of its own. */
static bool ends_clause(const char *word)
{
    static const char *const ends[] = {"and", "but", "also", "then", "plus"};
    for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++)
        if (strcmp(word, ends[i]) == 0)
            return true;
    return false;
}

static bool is_letter(unsigned char byte)
{
    return (byte >= 'a' && byte <= 'z') || (byte >= 'A' && byte <= 'Z') || (byte >= '0' && byte <= '9') ||
           byte >= 0x80;
}

/* Bytes of an apostrophe at `text`: straight, or typographic; 0 when there is none. */
static size_t apostrophe(const char *text)
{
    if (text[0] == '\'')
        return 1;
    return strncmp(text, "\xE2\x80\x99", 3) == 0 ? 3 : 0;
}

static void end_word(guide_words *words, size_t *length)
{
    char *word = words->word[words->count];
    word[*length] = '\0';
    if (*length > 0 && words->count + 1 < GUIDE_WORDS_MOST) {
        if (ends_clause(word))
            word[0] = '\0'; /* an empty word is a boundary */
        words->count++;
    }
    *length = 0;
}

void guide_split_words(const char *line, guide_words *words)
{
    size_t length = 0;
    words->count = 0;
    for (const char *at = line; *at != '\0';) {
        size_t skipped = apostrophe(at);
        unsigned char byte = (unsigned char)*at;
        if (skipped > 0) {
            at += skipped; /* won't is wont */
            continue;
        }
        if (is_letter(byte)) {
            if (length + 1 < GUIDE_WORD_SIZE)
                words->word[words->count][length++] =
                    (char)(byte >= 'A' && byte <= 'Z' ? byte - 'A' + 'a' : byte);
        } else {
            end_word(words, &length);
            if (strchr(",.;:!?", *at) != NULL && words->count > 0 && words->count + 1 < GUIDE_WORDS_MOST)
                words->word[words->count++][0] = '\0';
        }
        at++;
    }
    end_word(words, &length);
}

static bool cut(char *word, size_t *length, const char *ending)
{
    size_t count = strlen(ending);
    if (*length < count + STEM_LEAST || strcmp(word + *length - count, ending) != 0)
        return false;
    *length -= count;
    word[*length] = '\0';
    return true;
}

/* trips, tripped, tripping -> trip; smokes, smoking -> smok. Rough, but the same for both sides. */
static void stem(const char *word, char out[GUIDE_WORD_SIZE])
{
    (void)ovp_copy_string(out, GUIDE_WORD_SIZE, ovp_span_of(word));
    size_t length = strlen(out);
    bool double_s = length > 2 && out[length - 1] == 's' && out[length - 2] == 's';
    if (!double_s && !cut(out, &length, "ing") && !cut(out, &length, "ed") && !cut(out, &length, "es"))
        (void)cut(out, &length, "s");
    (void)cut(out, &length, "e");
    if (length > STEM_LEAST && out[length - 1] == out[length - 2])
        out[length - 1] = '\0';
}

/* Letters to change, leave out, put in or exchange with their neighbour to make one word of the other. */
static size_t slips_between(const char *a, const char *b)
{
    size_t rows[3][GUIDE_WORD_SIZE];
    size_t length_a = strlen(a), length_b = strlen(b);
    for (size_t j = 0; j <= length_b; j++)
        rows[0][j] = j;
    for (size_t i = 1; i <= length_a; i++) {
        size_t *now = rows[i % 3], *last = rows[(i + 2) % 3], *before = rows[(i + 1) % 3];
        now[0] = i;
        for (size_t j = 1; j <= length_b; j++) {
            size_t best = last[j - 1] + (a[i - 1] != b[j - 1]);
            best = last[j] + 1 < best ? last[j] + 1 : best;
            best = now[j - 1] + 1 < best ? now[j - 1] + 1 : best;
            bool swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
            if (swapped && before[j - 2] + 1 < best)
                best = before[j - 2] + 1;
            now[j] = best;
        }
    }
    return rows[length_a % 3][length_b];
}

static bool nearly(const char *said, const char *wanted)
{
    size_t length = strlen(wanted), slips = 0;
    if (said[0] != wanted[0] || length < SLIP_LEAST || strlen(said) + 2 < length)
        return false;
    slips = slips_between(said, wanted);
    return slips <= 1 || (slips == 2 && length >= TWO_SLIPS_LEAST);
}

static bool same_word(const char *said, const char *wanted)
{
    char said_stem[GUIDE_WORD_SIZE], wanted_stem[GUIDE_WORD_SIZE];
    if (strcmp(said, wanted) == 0)
        return true;
    stem(said, said_stem);
    stem(wanted, wanted_stem);
    return strcmp(said_stem, wanted_stem) == 0 || nearly(said, wanted) || nearly(said_stem, wanted_stem);
}

/* ---- phrases ------------------------------------------------------------------------------------------ */

static bool denies(const char *word)
{
    static const char *const words[] = {"no",   "not",   "never", "doesnt", "isnt",
                                        "dont", "didnt", "wasnt", "without"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (strcmp(word, words[i]) == 0)
            return true;
    return false;
}

/* From this word on; the words used as bits, 0 when the phrase is not there. */
static uint64_t phrase_at(const guide_words *said, size_t start, const guide_words *phrase)
{
    uint64_t mask = 0;
    size_t at = start;
    for (size_t i = 0; i < phrase->count; i++) {
        size_t last = i == 0 ? at : at + PHRASE_GAP;
        while (at <= last && at < said->count && said->word[at][0] != '\0' &&
               !same_word(said->word[at], phrase->word[i]))
            at++;
        if (at > last || at >= said->count || said->word[at][0] == '\0')
            return 0;
        mask |= UINT64_C(1) << at;
        at++;
    }
    return mask;
}

uint64_t guide_find_phrase(const guide_words *said, const char *text)
{
    guide_words phrase;
    guide_split_words(text, &phrase);
    for (size_t start = 0; start < said->count && phrase.count > 0; start++) {
        bool denied = phrase.count == 1 && start > 0 && denies(said->word[start - 1]);
        uint64_t mask = denied ? 0 : phrase_at(said, start, &phrase);
        if (mask != 0)
            return mask;
    }
    return 0;
}

/* ---- guides against the line -------------------------------------------------------------------------- */

typedef struct sort_match {
    size_t guide;
    uint64_t mask;
    int words; /* of the phrase; 0 for a hint */
} sort_match;

typedef struct sorting {
    guide_words said;
    struct {
        char path[LUA_GUIDE_PATH_SIZE];
        int danger;
    } guides[SORT_GUIDES];
    size_t guide_count;
    sort_match matches[SORT_MATCHES];
    size_t match_count;
    lua_guide_about about;
} sorting;

static int count_bits(uint64_t mask)
{
    int count = 0;
    for (; mask != 0; mask &= mask - 1)
        count++;
    return count;
}

static void add_match(sorting *s, const char *phrase, bool hint)
{
    uint64_t mask = guide_find_phrase(&s->said, phrase);
    if (mask != 0 && s->match_count < SORT_MATCHES)
        s->matches[s->match_count++] = (sort_match){s->guide_count, mask, hint ? 0 : count_bits(mask)};
}

static void weigh(void *context, const char *name, const char *path)
{
    sorting *s = context;
    (void)name;
    if (s->guide_count == SORT_GUIDES || lua_guide_read(path, &s->about, NULL) != OVP_OK)
        return;
    for (size_t i = 0; i < s->about.word_count; i++)
        add_match(s, s->about.words[i], false);
    for (size_t i = 0; i < s->about.hint_count; i++)
        add_match(s, s->about.hints[i], true);
    (void)ovp_copy_string(s->guides[s->guide_count].path, LUA_GUIDE_PATH_SIZE, ovp_span_of(path));
    s->guides[s->guide_count++].danger = s->about.danger;
}

/* "won't stop" is part of "won't stop tripping", which another guide knows better. */
static bool is_part_of_longer(const sorting *s, const sort_match *match)
{
    for (size_t i = 0; i < s->match_count; i++) {
        const sort_match *other = &s->matches[i];
        if (other->guide != match->guide && other->words > match->words && (match->mask & ~other->mask) == 0)
            return true;
    }
    return false;
}

/* Points of a guide from words that are not in `taken`; a word counts once, longest phrases first. */
static int points_of(const sorting *s, size_t guide, uint64_t taken, uint64_t *used)
{
    int points = 0;
    *used = 0;
    for (int words = GUIDE_WORDS_MOST; words >= 0; words--)
        for (size_t i = 0; i < s->match_count; i++) {
            const sort_match *match = &s->matches[i];
            bool counts = match->guide == guide && match->words == words && (match->mask & taken) == 0 &&
                          (match->mask & ~*used) != 0;
            if (!counts || is_part_of_longer(s, match))
                continue;
            points += words + 1;
            *used |= match->mask;
        }
    return points;
}

static void choose(const sorting *s, lua_guide_choice *choice)
{
    int best = 0, other = 0;
    size_t lead = 0, also = SORT_GUIDES;
    uint64_t taken = 0, used = 0;
    for (size_t i = 0; i < s->guide_count; i++) {
        int points = points_of(s, i, 0, &used);
        bool better = points > best || (points == best && s->guides[i].danger > s->guides[lead].danger);
        if (points == 0 || !better)
            continue;
        best = points;
        lead = i;
        taken = used;
    }
    if (best == 0)
        return;
    for (size_t i = 0; i < s->guide_count && best >= SORT_STRONG; i++) {
        int points = i == lead ? 0 : points_of(s, i, taken, &used);
        bool worse = also == SORT_GUIDES || s->guides[i].danger > s->guides[also].danger ||
                     (s->guides[i].danger == s->guides[also].danger && points > other);
        if (points < SORT_STRONG || !worse)
            continue;
        also = i;
        other = points;
    }
    if (also < SORT_GUIDES && s->guides[also].danger > s->guides[lead].danger) {
        size_t first = also;
        also = lead;
        lead = first;
    }
    (void)ovp_copy_string(choice->path, sizeof choice->path, ovp_span_of(s->guides[lead].path));
    if (also < SORT_GUIDES)
        (void)ovp_copy_string(choice->also, sizeof choice->also, ovp_span_of(s->guides[also].path));
}

void lua_guide_sort(const char *line, lua_guide_choice *choice)
{
    *choice = (lua_guide_choice){0};
    sorting *s = calloc(1, sizeof *s);
    if (s == NULL)
        return;
    guide_split_words(line, &s->said);
    lua_list("guides", weigh, s);
    choose(s, choice);
    free(s);
}

size_t lua_guide_hear(const lua_guide_about *about, const char *line, lua_guide_answer evidence[],
                      size_t room)
{
    guide_words said;
    size_t count = 0;
    guide_split_words(line, &said);
    for (size_t i = 0; i < about->heard_count; i++) {
        bool heard = false;
        for (size_t j = 0; j < about->heard[i].phrase_count; j++)
            heard = heard || guide_find_phrase(&said, about->heard[i].phrases[j]) != 0;
        for (size_t j = 0; heard && j < about->heard[i].evidence_count && count < room; j++)
            evidence[count++] = about->heard[i].evidence[j];
    }
    return count;
}

size_t lua_guide_words_in(const char *line)
{
    guide_words said;
    guide_split_words(line, &said);
    return said.count;
}
