#include "evenhand/app/help.h"

#include <stdio.h>
#include <string.h>

enum { HELP_COLUMNS = 80, HELP_TEXT_AT = 26 };

/* Adds text from column `at` on, words wrapped, further lines indented to HELP_TEXT_AT. */
static bool add_wrapped(Text *out, const char *text, size_t at)
{
    bool done = true;
    size_t column = at;
    for (bool first = true; done && *text; first = false) {
        size_t size = strcspn(text, " ");
        if (!first && column + 1 + size > HELP_COLUMNS) {
            done = text_add(out, "\n%*s", HELP_TEXT_AT, "");
            column = HELP_TEXT_AT;
        } else if (!first) {
            done = text_add_bytes(out, " ", 1);
            column++;
        }
        done = done && text_add_bytes(out, text, size);
        column += size;
        text += size;
        text += strspn(text, " ");
    }
    return done && text_add_bytes(out, "\n", 1);
}

/* A name and its text side by side; a long name has a line of its own. */
static bool add_entry(Text *out, const char *name, const char *text)
{
    size_t size = strlen(name);
    if (size >= HELP_TEXT_AT)
        return text_add(out, "%s\n%*s", name, HELP_TEXT_AT, "") &&
               add_wrapped(out, text, HELP_TEXT_AT);
    return text_add(out, "%-*s", HELP_TEXT_AT, name) && add_wrapped(out, text, HELP_TEXT_AT);
}

static bool add_options(Text *out, unsigned commands)
{
    int count;
    const OptionRow *rows = options_table(&count);
    bool done = text_add(out, "\nOptions\n");
    for (int i = 0; done && i < count; i++) {
        char name[80], letter[8] = "    ";
        if (!(rows[i].commands & commands))
            continue;
        if (rows[i].letter)
            snprintf(letter, sizeof letter, "-%c, ", rows[i].letter);
        snprintf(name, sizeof name, "  %s--%s%s%s", letter, rows[i].name, rows[i].value ? " " : "",
            rows[i].value ? rows[i].value : "");
        done = add_entry(out, name, rows[i].text);
    }
    return done;
}

bool help_program(Text *out)
{
    int count;
    const CommandRow *commands = command_table(&count);
    bool done = text_add(out, "evenhand drills a passage on the harp: fingers in groups, accents "
                              "that move,\nuneven rhythms, tempo in steps.\n\nUsage\n"
                              "  evenhand [FILE[:X]] [options]      practise; X: the tune's "
                              "number in FILE\n"
                              "  evenhand COMMAND [FILE[:X]] [options]\n\nCommands\n");
    for (int i = 0; done && i < count; i++) {
        char name[80];
        snprintf(name, sizeof name, "  %s %s", commands[i].name, commands[i].operand);
        done = add_entry(out, name, commands[i].summary);
    }
    return done && add_options(out, ~0u) &&
           text_add(out,
               "\nFILE is a text in ABC 2.1; - reads standard input. With --help after "
               "a command\nonly its own options are listed. Exit codes: 0 done, 1 failed, "
               "2 wrong usage.\n");
}

bool help_command(Text *out, const CommandRow *command)
{
    return text_add(out, "evenhand %s %s\n", command->name, command->operand) &&
           text_add(out, "  %s\n", command->summary) && add_options(out, 1u << command->id);
}
