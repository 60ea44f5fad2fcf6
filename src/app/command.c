#include "evenhand/app/command.h"

#include <stddef.h>

static const CommandRow table[] = {
    {COMMAND_ID_PRACTICE, "practice", "[FILE[:X]]",
        "open the console; also what happens when no command is named", command_practice},
    {COMMAND_ID_SHOW, "show", "FILE[:X]",
        "print the passage with its fingers, the accent tables and the session", command_show},
    {COMMAND_ID_NOTES, "notes", "FILE[:X]", "print one note a line, tab-separated", command_notes},
    {COMMAND_ID_TIMELINE, "timeline", "FILE[:X]", "print every event on its frame, tab-separated",
        command_timeline},
    {COMMAND_ID_WRITE, "write", "FILE[:X]",
        "write the session, or one drill, to an audio or MIDI file", command_write},
    {COMMAND_ID_MARK, "mark", "FILE[:X]",
        "write the fingers into a copy of the file, before each note", command_mark},
    {COMMAND_ID_PAGE, "page", "[FILE[:X]]",
        "draw the passage large for the music stand, with fingers, groups and accents; or the "
        "record",
        command_page},
    {COMMAND_ID_ROUTINE, "routine", "FILE",
        "play a timed routine in the console; with --check, or without a terminal, print its times",
        command_routine},
    {COMMAND_ID_LADDER, "ladder", "[FILE[:X]]",
        "print a tempo ladder: its rungs, repetitions, notes a second and time", command_ladder},
    {COMMAND_ID_PASSAGES, "passages", "[FILE]", "list the passages of a file, or the bundled ones",
        command_passages},
    {COMMAND_ID_PLAN, "plan", "FILE",
        "print what to practise day by day until an exam, or write it as a calendar", command_plan},
    {COMMAND_ID_RECORD, "record", "",
        "print the practice record: today, by passage, drill, student or day; copy or change it",
        command_record},
    {COMMAND_ID_SOUND, "sound", "", "list the audio devices, play a test and say what is wrong",
        command_sound},
};
enum { ROWS = sizeof table / sizeof table[0] };

const CommandRow *command_table(int *count)
{
    *count = ROWS;
    return table;
}

const CommandRow *command_find(CommandId id)
{
    for (int i = 0; i < ROWS; i++)
        if (table[i].id == id)
            return &table[i];
    return NULL;
}
