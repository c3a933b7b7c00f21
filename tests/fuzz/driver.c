/*
 * Runs a fuzz target without a fuzzer: over the files of its folder, then over mutations of them that are
 * the same every time. An input that ends the program is left in the working folder as crash-input.
 * usage: fuzz_NAME FOLDER|FILE... [--mutations N]
 */
#include <dirent.h>
#include <fcntl.h>
#include <signal.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum {
    INPUTS = 256,
    SIZE = 65536,
    MUTATIONS = 4000,
};

typedef struct input {
    uint8_t *data;
    size_t size;
} input;

static input inputs[INPUTS];
static size_t input_count;
static const uint8_t *running;
static size_t running_size;

static uint64_t next(void)
{
    static uint64_t state = 1; /* splitmix64, public domain */
    uint64_t z = state += UINT64_C(0x9E3779B97F4A7C15);
    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return z ^ (z >> 31);
}

static size_t below(size_t bound)
{
    return bound == 0 ? 0 : (size_t)(next() % bound);
}

static void keep_the_input(int number)
{
    int file = open("crash-input", O_WRONLY | O_CREAT | O_TRUNC, 0666);
    if (file >= 0 && write(file, running, running_size) >= 0)
        close(file);
    signal(number, SIG_DFL);
    raise(number);
}

/* A copy of exactly this size on the heap, so that a read past its end is seen by valgrind and ASan. */
static void run(const uint8_t *data, size_t size)
{
    uint8_t *copy = malloc(size > 0 ? size : 1);
    if (copy == NULL)
        abort();
    memcpy(copy, data, size);
    running = copy;
    running_size = size;
    LLVMFuzzerTestOneInput(copy, size);
    free(copy);
}

static void add_file(const char *path)
{
    static uint8_t bytes[SIZE];
    FILE *file = fopen(path, "rb");
    if (file == NULL || input_count == INPUTS) {
        fprintf(stderr, "cannot take %s\n", path);
        exit(1);
    }
    size_t size = fread(bytes, 1, sizeof bytes, file);
    fclose(file);
    input *one = &inputs[input_count++];
    one->data = malloc(size + 1);
    if (one->data == NULL)
        abort();
    memcpy(one->data, bytes, size);
    one->size = size;
}

static int by_name(const struct dirent **a, const struct dirent **b)
{
    return strcmp((*a)->d_name, (*b)->d_name);
}

static void add_path(const char *path)
{
    struct dirent **names = NULL;
    int count = scandir(path, &names, NULL, by_name);
    if (count < 0) {
        add_file(path);
        return;
    }
    for (int i = 0; i < count; i++) {
        char file[4096];
        snprintf(file, sizeof file, "%s/%s", path, names[i]->d_name);
        if (names[i]->d_name[0] != '.')
            add_file(file);
        free(names[i]);
    }
    free(names);
}

static void insert(uint8_t *data, size_t *size, size_t at, const uint8_t *from, size_t count)
{
    if (*size + count > SIZE)
        return;
    memmove(data + at + count, data + at, *size - at);
    memcpy(data + at, from, count);
    *size += count;
}

static void insert_word(uint8_t *data, size_t *size, size_t at)
{
    static const char *const words[] = {"0",
                                        "-",
                                        ".",
                                        "1e999",
                                        "e",
                                        ",",
                                        ";",
                                        "\n",
                                        "\r",
                                        "\"",
                                        "\t",
                                        " ",
                                        "99999999999999999999",
                                        "\xC2\xB0",
                                        "\xFF",
                                        "\xEF\xBB\xBF",
                                        "nan",
                                        "F",
                                        "C",
                                        "{",
                                        "}",
                                        "[",
                                        "]",
                                        "=",
                                        "#",
                                        ":",
                                        "%",
                                        "\\u0000"};
    const char *word = words[below(sizeof words / sizeof words[0])];
    insert(data, size, at, (const uint8_t *)word, strlen(word));
}

static void mutate_once(uint8_t *data, size_t *size)
{
    size_t at = below(*size + 1), count = 1 + below(8);
    const input *other = &inputs[below(input_count)];
    uint8_t byte = (uint8_t)next();
    switch (below(8)) {
    case 0:
        if (at < *size)
            data[at] = (uint8_t)(data[at] ^ 1u << below(8));
        break;
    case 1:
        if (at < *size)
            data[at] = byte;
        break;
    case 2:
        insert(data, size, at, &byte, 1);
        break;
    case 3:
        insert_word(data, size, at);
        break;
    case 4:
        if (at + count <= *size) {
            memmove(data + at, data + at + count, *size - at - count);
            *size -= count;
        }
        break;
    case 5:
        *size = at;
        break;
    case 6:
        if (other->size > 0)
            insert(data, size, at, other->data, 1 + below(other->size));
        break;
    default:
        if (at + count <= *size) {
            uint8_t piece[8];
            memcpy(piece, data + at, count);
            insert(data, size, below(*size + 1), piece, count);
        }
    }
}

static void run_mutations(unsigned long count)
{
    static uint8_t data[SIZE];
    for (unsigned long i = 0; i < count; i++) {
        const input *from = &inputs[below(input_count)];
        size_t size = from->size;
        memcpy(data, from->data, size);
        for (size_t rounds = 1 + below(6); rounds > 0; rounds--)
            mutate_once(data, &size);
        run(data, size);
    }
}

int main(int argument_count, char **arguments)
{
    unsigned long mutations = MUTATIONS;
    static uint8_t nothing[1];
    inputs[input_count++] = (input){nothing, 0};
    for (int i = 1; i < argument_count; i++) {
        if (strcmp(arguments[i], "--mutations") == 0 && i + 1 < argument_count)
            mutations = strtoul(arguments[++i], NULL, 10);
        else
            add_path(arguments[i]);
    }
    static const int fatal[] = {SIGABRT, SIGSEGV, SIGFPE, SIGBUS, SIGILL};
    for (size_t i = 0; i < sizeof fatal / sizeof fatal[0]; i++)
        signal(fatal[i], keep_the_input);
    for (size_t i = 0; i < input_count; i++)
        run(inputs[i].data, inputs[i].size);
    run_mutations(mutations);
    printf("%zu inputs and %lu mutations\n", input_count, mutations);
    for (size_t i = 1; i < input_count; i++)
        free(inputs[i].data);
    return input_count > 1 ? 0 : 1; /* a target without inputs is not tested */
}
