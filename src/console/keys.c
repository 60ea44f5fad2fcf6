#include "evenhand/console/keys.h"

#include <stdio.h>
#include <string.h>

#define ON(screen) (1u << (screen))
#define PRACTICE ON(SCREEN_PRACTICE)
#define SOUND ON(SCREEN_SOUND)
#define FINGERS ON(SCREEN_FINGERS)
#define LADDER ON(SCREEN_LADDER)
#define ROUTINE ON(SCREEN_ROUTINE)
#define CHOOSERS (ON(SCREEN_DRILLS) | ON(SCREEN_PASSAGES))
#define RECORD ON(SCREEN_RECORD)
#define LISTS                                                                                      \
    (CHOOSERS | FINGERS | LADDER | ROUTINE | SOUND | RECORD |                                      \
        ON(SCREEN_HELP)) /* what has a cursor or scrolls */
#define CALENDAR ON(SCREEN_CALENDAR)
#define ANYWHERE (PRACTICE | LISTS | CALENDAR)

/* In the help's order. A page-turn pedal sends Page Down and Page Up, Right and Left, Down and Up,
 * or Space and Enter: its forward half is the one thing needed, its backward half the variant
 * before, or with a ladder the missed repetition (with Space and Enter both are the one thing). No
 * arrow does anything else while practising. [common practice] */
static const KeyBinding table[] = {
    {' ', ACTION_GO, PRACTICE, "Space"},
    {KEY_CODE_PAGE_DOWN, ACTION_GO, PRACTICE, "Page Down"},
    {KEY_CODE_ENTER, ACTION_GO, PRACTICE, "Enter"},
    {KEY_CODE_RIGHT, ACTION_GO, PRACTICE, "Right"},
    {KEY_CODE_DOWN, ACTION_GO, PRACTICE, "Down"},
    {'n', ACTION_NEXT, PRACTICE, "n"},
    {'p', ACTION_PREVIOUS, PRACTICE, "p"},
    {KEY_CODE_PAGE_UP, ACTION_PEDAL_BACK, PRACTICE, "Page Up"},
    {KEY_CODE_LEFT, ACTION_PEDAL_BACK, PRACTICE, "Left"},
    {KEY_CODE_UP, ACTION_PEDAL_BACK, PRACTICE, "Up"},
    {'m', ACTION_MISSED, PRACTICE, "m"},
    {'r', ACTION_AGAIN, PRACTICE, "r"},

    {'>', ACTION_BLOCK_NEXT, PRACTICE | ROUTINE, ">"},
    {'<', ACTION_BLOCK_BEFORE, PRACTICE | ROUTINE, "<"},
    {'i', ACTION_MINUTE, PRACTICE | ROUTINE, "i"},
    {'e', ACTION_ROUTINE_END, PRACTICE | ROUTINE, "e"},

    {'+', ACTION_TEMPO_UP, PRACTICE, "+"},
    {'=', ACTION_TEMPO_UP, PRACTICE, "="},
    {'-', ACTION_TEMPO_DOWN, PRACTICE, "-"},
    {']', ACTION_TEMPO_UP_NUMBER, PRACTICE, "]"},
    {'[', ACTION_TEMPO_DOWN_NUMBER, PRACTICE, "["},

    {'l', ACTION_RHYTHM, PRACTICE, "l"},
    {'t', ACTION_RATIO, PRACTICE | ON(SCREEN_DRILLS), "t"},
    {'g', ACTION_TIMING, PRACTICE | ON(SCREEN_DRILLS), "g"},
    {'b', ACTION_BEATS, PRACTICE | ON(SCREEN_DRILLS), "b"},
    {'u', ACTION_SUBDIVIDE, PRACTICE | ON(SCREEN_DRILLS), "u"},

    {'.', ACTION_LOUDER, PRACTICE | SOUND, "Full stop"},
    {',', ACTION_SOFTER, PRACTICE | SOUND, "Comma"},
    {'1', ACTION_LAYER_PULSE, PRACTICE | SOUND, "1"},
    {'2', ACTION_LAYER_SUBDIVISION, PRACTICE | SOUND, "2"},
    {'3', ACTION_LAYER_NOTES, PRACTICE | SOUND, "3"},
    {'4', ACTION_LAYER_ACCENT, PRACTICE | SOUND, "4"},
    {'5', ACTION_LAYER_GUIDE, PRACTICE | SOUND, "5"},
    {'6', ACTION_LAYER_ANNOUNCE, PRACTICE | SOUND, "6"},
    {'a', ACTION_AUDIO, PRACTICE | SOUND, "a"},

    {'d', ACTION_DRILLS, ANYWHERE, "d"},
    {'o', ACTION_PASSAGES, ANYWHERE, "o"},
    {'f', ACTION_FINGERS, ANYWHERE, "f"},
    {'k', ACTION_LADDER, ANYWHERE, "k"},
    {'y', ACTION_ROUTINE, ANYWHERE, "y"},
    {'s', ACTION_SOUND, ANYWHERE, "s"},
    {'c', ACTION_CALENDAR, ANYWHERE, "c"},
    {'v', ACTION_RECORD, ANYWHERE, "v"},
    {'h', ACTION_HELP, ANYWHERE, "h"},
    {'?', ACTION_HELP, ANYWHERE, "?"},

    {KEY_CODE_UP, ACTION_UP, LISTS, "Up"},
    {KEY_CODE_PAGE_UP, ACTION_UP, LISTS, "Page Up"},
    {KEY_CODE_DOWN, ACTION_DOWN, LISTS, "Down"},
    {KEY_CODE_PAGE_DOWN, ACTION_DOWN, LISTS, "Page Down"},
    {KEY_CODE_ENTER, ACTION_CHOOSE, CHOOSERS | FINGERS | ROUTINE, "Enter"},
    {' ', ACTION_CHOOSE, CHOOSERS | FINGERS | ROUTINE, "Space"},
    {'+', ACTION_MORE, ON(SCREEN_DRILLS), "+"},
    {'=', ACTION_MORE, ON(SCREEN_DRILLS), "="},
    {KEY_CODE_RIGHT, ACTION_MORE, ON(SCREEN_DRILLS), "Right"},
    {'-', ACTION_LESS, ON(SCREEN_DRILLS), "-"},
    {KEY_CODE_LEFT, ACTION_LESS, ON(SCREEN_DRILLS), "Left"},
    {KEY_CODE_LEFT, ACTION_NOTE_BEFORE, FINGERS, "Left"},
    {KEY_CODE_RIGHT, ACTION_NOTE_AFTER, FINGERS, "Right"},
    {'1', ACTION_FINGER_1, FINGERS, "1"},
    {'2', ACTION_FINGER_2, FINGERS, "2"},
    {'3', ACTION_FINGER_3, FINGERS, "3"},
    {'4', ACTION_FINGER_4, FINGERS, "4"},
    {'0', ACTION_FINGER_FREE, FINGERS, "0"},
    {'u', ACTION_UNDO, FINGERS, "u"},
    {'w', ACTION_SAVE, FINGERS, "w"},
    {KEY_CODE_ENTER, ACTION_LADDER_SWITCH, LADDER, "Enter"},
    {' ', ACTION_LADDER_SWITCH, LADDER, "Space"},
    {'+', ACTION_SET_UP, LADDER, "+"},
    {'=', ACTION_SET_UP, LADDER, "="},
    {KEY_CODE_RIGHT, ACTION_SET_UP, LADDER, "Right"},
    {'-', ACTION_SET_DOWN, LADDER, "-"},
    {KEY_CODE_LEFT, ACTION_SET_DOWN, LADDER, "Left"},
    {KEY_CODE_ENTER, ACTION_SWITCH, SOUND, "Enter"},
    {' ', ACTION_SWITCH, SOUND, "Space"},
    {'+', ACTION_LEVEL_UP, SOUND, "+"},
    {'=', ACTION_LEVEL_UP, SOUND, "="},
    {KEY_CODE_RIGHT, ACTION_LEVEL_UP, SOUND, "Right"},
    {'-', ACTION_LEVEL_DOWN, SOUND, "-"},
    {KEY_CODE_LEFT, ACTION_LEVEL_DOWN, SOUND, "Left"},
    {KEY_CODE_ESCAPE, ACTION_BACK, LISTS | CALENDAR, "Escape"},
    {'x', ACTION_BACK, LISTS | CALENDAR, "x"},
    {KEY_CODE_BACKSPACE, ACTION_BACK, LISTS | CALENDAR, "Backspace"},
    {KEY_CODE_ENTER, ACTION_BACK, ON(SCREEN_HELP), "Enter"},
    {' ', ACTION_BACK, ON(SCREEN_HELP), "Space"},

    {KEY_CODE_LEFT, ACTION_DAY_BEFORE, CALENDAR, "Left"},
    {KEY_CODE_RIGHT, ACTION_DAY_AFTER, CALENDAR, "Right"},
    {KEY_CODE_UP, ACTION_WEEK_BEFORE, CALENDAR, "Up"},
    {KEY_CODE_PAGE_UP, ACTION_WEEK_BEFORE, CALENDAR, "Page Up"},
    {KEY_CODE_DOWN, ACTION_WEEK_AFTER, CALENDAR, "Down"},
    {KEY_CODE_PAGE_DOWN, ACTION_WEEK_AFTER, CALENDAR, "Page Down"},

    {KEY_CODE_LEFT, ACTION_RECORD_BY, RECORD, "Left"},
    {KEY_CODE_RIGHT, ACTION_RECORD_BY, RECORD, "Right"},

    {'q', ACTION_QUIT, ANYWHERE, "q"},
};

const KeyBinding *keys_table(int *count)
{
    *count = (int)(sizeof table / sizeof table[0]);
    return table;
}

static const KeyBinding *find_key(uint32_t key, Screen screen)
{
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++)
        if (table[i].key == key && (table[i].screens & ON(screen)) != 0)
            return &table[i];
    return NULL;
}

Action keys_action(uint32_t key, Screen screen)
{
    const KeyBinding *binding = find_key(key, screen);
    if (binding == NULL && key >= 'A' && key <= 'Z') /* caps lock must not take the keys away */
        binding = find_key(key - 'A' + 'a', screen);
    return binding == NULL ? ACTION_NONE : binding->action;
}

const char *keys_name(Action action, Screen screen)
{
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++)
        if (table[i].action == action && (table[i].screens & ON(screen)) != 0)
            return table[i].name;
    return "";
}

/* One sentence each; help and manual print it. */
static const char *const texts[ACTION_KINDS] = {
    [ACTION_NONE] = "Nothing.",
    [ACTION_GO] = "The one thing needed: start, pause, go on.",
    [ACTION_TEMPO_UP] = "Faster by one beat a minute.",
    [ACTION_TEMPO_DOWN] = "Slower by one beat a minute.",
    [ACTION_TEMPO_UP_NUMBER] = "Up to the next metronome number.",
    [ACTION_TEMPO_DOWN_NUMBER] = "Down to the metronome number below.",
    [ACTION_NEXT] = "On to the next variant.",
    [ACTION_PREVIOUS] = "Back to the variant before.",
    [ACTION_PEDAL_BACK] = "Missed, with a ladder or routine; else previous.",
    [ACTION_MISSED] = "This one was missed; at its start: the one before.",
    [ACTION_AGAIN] = "This variant again, from its count-in.",
    [ACTION_RHYTHM] = "The next rhythm: pairs, threes, fours, none.",
    [ACTION_RATIO] = "Long to short 3:1, 2:1, 7:1 or 3:2.",
    [ACTION_TIMING] = "Groups keep their length, or shorts the goal speed.",
    [ACTION_BEATS] = "Strong beats: by the metre, 1, all, the even ones.",
    [ACTION_SUBDIVIDE] = "Accents move by the notes, 1/4, 1/8, 1/16, 1/12.",
    [ACTION_LOUDER] = "All sound louder.",
    [ACTION_SOFTER] = "All sound softer.",
    [ACTION_LAYER_PULSE] = "The pulse on or off.",
    [ACTION_LAYER_SUBDIVISION] = "The subdivision on or off.",
    [ACTION_LAYER_NOTES] = "The click on every note on or off.",
    [ACTION_LAYER_ACCENT] = "The accents on or off.",
    [ACTION_LAYER_GUIDE] = "The plucked guide tone on or off.",
    [ACTION_LAYER_ANNOUNCE] = "The announcement of a new variant on or off.",
    [ACTION_DRILLS] = "The list of drills; once more closes it.",
    [ACTION_PASSAGES] = "The list of passages; once more closes it.",
    [ACTION_FINGERS] = "Fingerings to choose from; once more closes it.",
    [ACTION_LADDER] = "The tempo ladder; once more closes it.",
    [ACTION_ROUTINE] = "The routine's blocks; once more closes them.",
    [ACTION_SOUND] = "Layers, levels and device; once more closes it.",
    [ACTION_CALENDAR] = "The calendar of a plan; once more closes it.",
    [ACTION_HELP] = "This help; once more closes it.",
    [ACTION_UP] = "Up by one line.",
    [ACTION_DOWN] = "Down by one line.",
    [ACTION_CHOOSE] = "Choose the line at the cursor.",
    [ACTION_BACK] = "Back to the practice screen.",
    [ACTION_MORE] = "The drill at the cursor once more.",
    [ACTION_LESS] = "The drill at the cursor once less.",
    [ACTION_NOTE_BEFORE] = "The note before.",
    [ACTION_NOTE_AFTER] = "The note after.",
    [ACTION_FINGER_1] = "The thumb on the note at the cursor.",
    [ACTION_FINGER_2] = "The index finger on the note at the cursor.",
    [ACTION_FINGER_3] = "The middle finger on the note at the cursor.",
    [ACTION_FINGER_4] = "The ring finger on the note at the cursor.",
    [ACTION_FINGER_FREE] = "Any finger on the note at the cursor.",
    [ACTION_UNDO] = "Take the last choice or finger back.",
    [ACTION_SAVE] = "Write the fingers into the file; keep the old one.",
    [ACTION_BLOCK_NEXT] = "On to the routine's next block.",
    [ACTION_BLOCK_BEFORE] = "Back to the routine's block before.",
    [ACTION_MINUTE] = "A minute more for this block.",
    [ACTION_ROUTINE_END] = "End the routine early; asks for a second press.",
    [ACTION_LADDER_SWITCH] = "The ladder up, or down again.",
    [ACTION_SET_UP] = "The setting at the cursor up.",
    [ACTION_SET_DOWN] = "The setting at the cursor down.",
    [ACTION_SWITCH] = "The layer at the cursor on or off.",
    [ACTION_LEVEL_UP] = "The level at the cursor up by one dB.",
    [ACTION_LEVEL_DOWN] = "The level at the cursor down by one dB.",
    [ACTION_AUDIO] = "Look for the audio device now.",
    [ACTION_DAY_BEFORE] = "The day before.",
    [ACTION_DAY_AFTER] = "The day after.",
    [ACTION_WEEK_BEFORE] = "A week before.",
    [ACTION_WEEK_AFTER] = "A week after.",
    [ACTION_RECORD] = "The practice record; once more closes it.",
    [ACTION_RECORD_BY] = "Passages, or drills.",
    [ACTION_QUIT] = "Leave the program.",
};

const char *action_text(Action action)
{
    return action < 0 || action >= ACTION_KINDS ? "" : texts[action];
}

const char *keys_heading(Screen screen)
{
    static const char *const headings[SCREEN_KINDS] = {
        [SCREEN_PRACTICE] = "While practising",
        [SCREEN_DRILLS] = "In the lists of drills and passages",
        [SCREEN_PASSAGES] = "In the list of passages alone",
        [SCREEN_FINGERS] = "On the screen of fingerings",
        [SCREEN_LADDER] = "On the ladder's screen",
        [SCREEN_ROUTINE] = "On the routine's screen",
        [SCREEN_SOUND] = "On the sound screen",
        [SCREEN_CALENDAR] = "On the calendar",
        [SCREEN_RECORD] = "On the practice record",
        [SCREEN_HELP] = "In this help",
    };
    return screen < 0 || screen >= SCREEN_KINDS ? "" : headings[screen];
}

int keys_rows(Screen screen, KeyRow rows[ACTION_KINDS])
{
    int count = 0;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        int row = 0;
        bool told = (table[i].screens & (ON(screen) - 1)) != 0; /* under a screen before this one */
        if (told || (table[i].screens & ON(screen)) == 0)
            continue;
        while (row < count && rows[row].action != table[i].action)
            row++;
        if (row == count)
            rows[count++] = (KeyRow){.action = table[i].action};
        char *names = rows[row].names;
        size_t used = strlen(names);
        snprintf(names + used, sizeof rows[row].names - used, "%s%s", used > 0 ? ", " : "",
            table[i].name);
    }
    return count;
}

bool debounce_pass(Debounce *d, uint32_t key, Action action, int64_t now_ms)
{
    if (action != ACTION_GO && action != ACTION_NEXT && action != ACTION_PREVIOUS &&
        action != ACTION_PEDAL_BACK && action != ACTION_MISSED)
        return true;
    /* A refused press counts too, so that a pedal held down stays one press. */
    bool bounce = d->any && d->key == key && now_ms >= d->at && now_ms - d->at < DEBOUNCE_MS;
    *d = (Debounce){.key = key, .at = now_ms, .any = true};
    return !bounce;
}
