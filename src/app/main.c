/* main.c - words in, exit code out: 0 done, 1 failed, 2 wrong usage. */
#include "evenhand/app/command.h"
#include "evenhand/app/help.h"
#include "evenhand/app/report.h"

#include <locale.h>
#include <signal.h>
#include <unistd.h>

static bool print_help(const Options *o, Error *error)
{
    Text text = {0};
    const CommandRow *command = command_find(o->command);
    bool named = command && (o->command != COMMAND_ID_PRACTICE);
    bool done = (named ? help_command(&text, command) : help_program(&text)) ||
                error_set(error, ERROR_MEMORY, "there is no memory for the help");
    done = done && report_text(&text, error);
    text_free(&text);
    return done;
}

static bool print_version(Error *error)
{
    Text text = {0};
    bool done = text_add(&text, "evenhand %s\n", EVENHAND_VERSION) && report_text(&text, error);
    text_free(&text);
    return done;
}

static bool run(int argc, char **argv, Error *error)
{
    Options o;
    if (!options_parse(argc, argv, &o, error))
        return false;
    if (o.help)
        return print_help(&o, error);
    if (o.version)
        return print_version(error);
    const CommandRow *command = command_find(o.command);
    if (!command || (o.command == COMMAND_ID_PRACTICE && !isatty(STDOUT_FILENO)))
        return command_unattended(&o, error);
    return command->run(&o, error);
}

int main(int argc, char **argv)
{
    Error error = {0};
    signal(SIGXFSZ, SIG_IGN); /* a limit on file size is told as a full disk is */
    setlocale(LC_CTYPE, "");  /* not LC_NUMERIC: numbers keep their point */
    if (run(argc, argv, &error))
        return 0;
    if (error.kind != ERROR_NONE) /* else the result has said what is wrong */
        report_error(&error);
    return error.kind == ERROR_USAGE ? 2 : 1;
}
