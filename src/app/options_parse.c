#include "evenhand/app/command.h"
#include "evenhand/app/options.h"

#include <string.h>

/* What is known while argv is read. */
typedef struct {
    int argc;
    char *const *argv;
    int at;
    unsigned long seen; /* bit for each row of the table that was used */
    int operands;
    bool only_operands; /* "--" was passed */
} Reader;

static const OptionRow *find_long(const char *name, size_t size)
{
    int count;
    const OptionRow *rows = options_table(&count);
    for (int i = 0; i < count; i++)
        if (strlen(rows[i].name) == size && memcmp(rows[i].name, name, size) == 0)
            return &rows[i];
    return NULL;
}

static const OptionRow *find_short(char letter)
{
    int count;
    const OptionRow *rows = options_table(&count);
    for (int i = 0; i < count; i++)
        if (letter != '\0' && rows[i].letter == letter)
            return &rows[i];
    return NULL;
}

/* Gives the row its value: the text joined to the option, or the next word. */
static bool use_row(Reader *r, const OptionRow *row, const char *joined, Options *out, Error *error)
{
    int count;
    r->seen |= 1ul << (row - options_table(&count));
    if (!row->value && joined)
        return error_set(error, ERROR_USAGE, "--%s takes no value", row->name);
    if (row->value && !joined) {
        if (r->at >= r->argc)
            return error_set(error, ERROR_USAGE, "--%s needs a value: --%s %s", row->name,
                row->name, row->value);
        joined = r->argv[r->at++];
    }
    return row->read(out, joined, error);
}

static bool read_option(Reader *r, const char *word, Options *out, Error *error)
{
    if (word[1] == '-') {
        size_t size = strcspn(word + 2, "=");
        const OptionRow *row = find_long(word + 2, size);
        if (!row)
            return error_set(error, ERROR_USAGE, "there is no option --%.*s",
                (int)(size < 60 ? size : 60), word + 2);
        return use_row(r, row, word[2 + size] == '=' ? word + 2 + size + 1 : NULL, out, error);
    }
    const OptionRow *row = find_short(word[1]);
    if (!row)
        return error_set(error, ERROR_USAGE, "there is no option -%.60s", word + 1);
    return use_row(r, row, word[2] != '\0' ? word + 2 : NULL, out, error);
}

static const CommandRow *command_named(const char *word)
{
    int count;
    const CommandRow *commands = command_table(&count);
    for (int i = 0; i < count; i++)
        if (strcmp(commands[i].name, word) == 0)
            return &commands[i];
    return NULL;
}

/* The first operand may name a command; to open a file of that name write ./show. */
static bool read_operand(Reader *r, const char *word, Options *out, Error *error)
{
    const CommandRow *command = r->only_operands || r->operands > 0 ? NULL : command_named(word);
    r->operands++;
    if (command) {
        out->command = command->id;
        return true;
    }
    if (word[0] == '\0')
        return error_set(error, ERROR_USAGE, "the file's name is empty");
    if (out->file)
        return error_set(error, ERROR_USAGE, "one file at a time: '%.60s' is one too many", word);
    out->file = word;
    return true;
}

/* --by means steps to a ladder and groups to the record. */
static bool check_by(const Options *o, const CommandRow *command, Error *error)
{
    bool record = o->command == COMMAND_ID_RECORD || o->command == COMMAND_ID_PAGE;
    if (record && o->ladder.has_by)
        return error_set(error, ERROR_USAGE, "--by takes passage, drill, student or day with %s",
            command ? command->name : "the record");
    if (!record && o->record.has_by)
        return error_set(error, ERROR_USAGE,
            "--by takes numbers, 1%% to 50%%, or 0.5 to 50 beats a minute, not '%s'",
            record_by_word(o->record.by));
    return true;
}

/* An option that the command would pass over is told, not passed over. */
static bool check_seen(const Reader *r, const Options *o, Error *error)
{
    int count;
    const OptionRow *rows = options_table(&count);
    const CommandRow *command = command_find(o->command);
    for (int i = 0; i < count; i++)
        if ((r->seen >> i & 1ul) && !(rows[i].commands >> o->command & 1u))
            return error_set(error, ERROR_USAGE, "--%s has no meaning for %s", rows[i].name,
                command ? command->name : "practice");
    if (!check_by(o, command, error))
        return false;
    if (o->file && command && command->operand[0] == '\0')
        return error_set(error, ERROR_USAGE, "%s takes no file", command->name);
    if (!o->file && command && command->operand[0] == 'F')
        return error_set(error, ERROR_USAGE, "%s needs a file: evenhand %s %s", command->name,
            command->name, command->operand);
    return true;
}

bool options_parse(int argc, char *const argv[], Options *out, Error *error)
{
    Reader r = {.argc = argc, .argv = argv, .at = 1};
    *out = options_default();
    while (r.at < argc) {
        const char *word = argv[r.at++];
        bool option = !r.only_operands && word[0] == '-' && word[1] != '\0';
        if (option && strcmp(word, "--") == 0) {
            r.only_operands = true;
            continue;
        }
        if (!(option ? read_option(&r, word, out, error) : read_operand(&r, word, out, error)))
            return false;
    }
    if (out->help || out->version)
        return true;
    if (!check_seen(&r, out, error))
        return false;
    return !out->drill || drill_parse(out->drill, &out->spec, error);
}
