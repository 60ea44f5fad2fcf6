#include "evenhand/app/options.h"

#include "evenhand/app/command.h"
#include "evenhand/app/values.h"

#include "options_fingers.h"
#include "options_ladder.h"
#include "options_plan.h"
#include "options_record.h"

#include <string.h>

static bool read_tempo(Options *o, const char *value, Error *error)
{
    return value_tempo(value, "--tempo", &o->tempo, error);
}

static bool read_drill(Options *o, const char *value, Error *error)
{
    (void)error;
    o->drill = value; /* read when all is known: it must not depend on the options' order */
    return true;
}

static bool read_ratio(Options *o, const char *value, Error *error)
{
    return rhythm_parse_ratio(value, &o->spec.rhythm, error);
}

static bool read_timing(Options *o, const char *value, Error *error)
{
    bool goal = strcmp(value, "goal") == 0;
    if (!goal && strcmp(value, "total") != 0)
        return error_set(error, ERROR_USAGE, "--timing takes total or goal, not '%s'", value);
    o->spec.rhythm.timing = goal ? TIMING_GOAL : TIMING_TOTAL;
    return true;
}

static bool read_beats(Options *o, const char *value, Error *error)
{
    return beat_pattern_parse(value, &o->spec.beats, error);
}

static bool read_subdivision(Options *o, const char *value, Error *error)
{
    return value_length(value, "--subdivision", &o->spec.subdivision, error);
}

static bool read_repetitions(Options *o, const char *value, Error *error)
{
    return value_int(value, "--repetitions", 1, SESSION_REPETITIONS_MAX, &o->repetitions, error);
}

static bool read_count_in(Options *o, const char *value, Error *error)
{
    return value_int(value, "--count-in", 0, SESSION_BARS_MAX, &o->count_in_bars, error);
}

static bool read_rest(Options *o, const char *value, Error *error)
{
    return value_int(value, "--rest", 0, SESSION_BARS_MAX, &o->rest_bars, error);
}

static bool read_layer_word(Options *o, const char *word, size_t size, Error *error)
{
    const char *equals = memchr(word, '=', size);
    size_t name_size = equals ? (size_t)(equals - word) : size;
    for (int layer = 0; layer < LAYER_KINDS; layer++) {
        const char *name = layer_word((Layer)layer);
        if (strlen(name) != name_size || memcmp(name, word, name_size) != 0)
            continue;
        o->mix.on[layer] = true;
        if (!equals)
            return true;
        char number[8] = "";
        size_t number_size = size - name_size - 1;
        if (number_size < sizeof number)
            memcpy(number, equals + 1, number_size);
        if (layer == LAYER_ACCENT)
            return value_int(
                number, "--layers accent=", ACCENT_DB_MIN, ACCENT_DB_MAX, &o->mix.accent, error);
        return value_int(
            number, "a level in --layers", MIX_DB_MIN, MIX_DB_MAX, &o->mix.level[layer], error);
    }
    Text known = {0};
    for (int layer = 0; layer < LAYER_KINDS; layer++)
        text_add(&known, "%s%s", layer ? ", " : "", layer_word((Layer)layer));
    error_set(error, ERROR_USAGE, "--layers does not know '%.*s'; it takes any of %s",
        (int)(size < 40 ? size : 40), word, known.bytes ? known.bytes : "");
    text_free(&known);
    return false;
}

static bool read_layers(Options *o, const char *value, Error *error)
{
    memset(o->mix.on, 0, sizeof o->mix.on);
    for (const char *word = value;;) {
        size_t size = strcspn(word, ",");
        if (!read_layer_word(o, word, size, error))
            return false;
        if (word[size] == '\0')
            return true;
        word += size + 1;
    }
}

static bool read_level(Options *o, const char *value, Error *error)
{
    return value_int(value, "--level", MIX_DB_MIN, MIX_DB_MAX, &o->mix.master, error);
}

static bool read_accent(Options *o, const char *value, Error *error)
{
    return value_int(value, "--accent", ACCENT_DB_MIN, ACCENT_DB_MAX, &o->mix.accent, error);
}

static bool read_a4(Options *o, const char *value, Error *error)
{
    Ratio hertz;
    if (!value_decimal(value, "--a4", OPTION_A4_MIN, OPTION_A4_MAX, &hertz, error))
        return false;
    o->a4 = ratio_double(hertz);
    return true;
}

static bool read_sound(Options *o, const char *value, Error *error)
{
    for (int kind = 0; kind < VOICE_KINDS; kind++) {
        size_t size = strlen(voice_word((VoiceKind)kind));
        if (strncmp(value, voice_word((VoiceKind)kind), size) != 0 || value[size] != '=')
            continue;
        if (value[size + 1] == '\0')
            break;
        o->own[kind] = value + size + 1;
        return true;
    }
    Text known = {0};
    for (int kind = 0; kind < VOICE_KINDS; kind++)
        text_add(&known, "%s%s", kind ? ", " : "", voice_word((VoiceKind)kind));
    error_set(error, ERROR_USAGE, "--sound takes KIND=FILE with a kind of %s, not '%.60s'",
        known.bytes ? known.bytes : "", value);
    text_free(&known);
    return false;
}

static bool read_rate(Options *o, const char *value, Error *error)
{
    return value_int(value, "--rate", OPTION_RATE_MIN, OPTION_RATE_MAX, &o->rate, error);
}

static bool read_device(Options *o, const char *value, Error *error)
{
    if (value[0] == '\0')
        return error_set(
            error, ERROR_USAGE, "--device takes a device's number or part of its name");
    o->device = value;
    return true;
}

static bool read_silent(Options *o, const char *value, Error *error)
{
    (void)value, (void)error;
    o->silent = true;
    return true;
}

static bool read_output(Options *o, const char *value, Error *error)
{
    if (value[0] == '\0')
        return error_set(error, ERROR_USAGE, "--output takes the name of the file to write");
    o->output = value;
    return true;
}

static bool read_force(Options *o, const char *value, Error *error)
{
    (void)value, (void)error;
    o->force = true;
    return true;
}

static bool read_no_record(Options *o, const char *value, Error *error)
{
    (void)value, (void)error;
    o->no_record = true;
    return true;
}

static bool read_student(Options *o, const char *value, Error *error)
{
    if (value[0] == '\0')
        return error_set(error, ERROR_USAGE, "--student takes the name of a student");
    o->student = value;
    return true;
}

static bool read_ascii(Options *o, const char *value, Error *error)
{
    (void)value, (void)error;
    o->ascii = true;
    return true;
}

static bool read_help(Options *o, const char *value, Error *error)
{
    (void)value, (void)error;
    o->help = true;
    return true;
}

static bool read_version(Options *o, const char *value, Error *error)
{
    (void)value, (void)error;
    o->version = true;
    return true;
}

#define BIT(id) (1u << COMMAND_ID_##id)
enum {
    FOR_ALL = (1u << COMMAND_IDS) - 1u,
    FOR_STEPS = BIT(PRACTICE) | BIT(SHOW) | BIT(TIMELINE) | BIT(WRITE),
    FOR_DRILLS = FOR_STEPS | BIT(LADDER),
    FOR_BEATS = FOR_DRILLS | BIT(PAGE),
    FOR_HANDS = FOR_BEATS | BIT(NOTES) | BIT(MARK),
    FOR_TEMPO = FOR_HANDS & ~BIT(LADDER),
    FOR_LADDER = BIT(PRACTICE) | BIT(LADDER),
    FOR_HARP = BIT(PAGE) | BIT(SHOW),
    FOR_FILES = BIT(WRITE) | BIT(PRACTICE) | BIT(MARK) | BIT(PAGE) | BIT(PLAN) | BIT(RECORD),
    FOR_RECORD = BIT(RECORD) | BIT(PAGE),
    FOR_MIX = BIT(PRACTICE) | BIT(WRITE) | BIT(SOUND) | BIT(ROUTINE)
};

static const OptionRow table[] = {
    {"tempo", 't', "N",
        "N beats a minute of the passage's own beat unit, 10 to 400; 1/4=72 or 3/8=60 names the "
        "unit",
        FOR_TEMPO, read_tempo},
    {"drill", 'd', "WORD",
        "one drill instead of the whole session: plain, finger-1 to finger-4, beat-1 and on, "
        "long-short, short-long, long-2-of-3 and so on, crossing, blocks, links, build-up, "
        "build-back, bursts or scale-arpeggio, joined by + as in links+finger-4",
        FOR_DRILLS, read_drill},
    {"repetitions", 'r', "N",
        "times that each drill is played, 1 to 1000; on a ladder, each rung, 1 to 100", FOR_DRILLS,
        read_repetitions},
    {"count-in", 0, "BARS", "bars counted before each drill, 0 to 16", FOR_DRILLS, read_count_in},
    {"rest", 0, "BARS", "bars of rest between drills, 0 to 16", FOR_STEPS, read_rest},
    {"ratio", 0, "P:Q", "long to short note of the rhythms, 1 to 64 each; 3:1 when not given",
        FOR_DRILLS, read_ratio},
    {"timing", 0, "WORD",
        "total: a long and its short notes keep their total length; goal: the short notes at the "
        "goal speed and the long one a rest",
        FOR_DRILLS, read_timing},
    {"beats", 0, "LIST", "strong beats of your own, such as 1,3 or 1,5/2, instead of the metre's",
        FOR_BEATS, read_beats},
    {"subdivision", 0, "LENGTH",
        "by how much the beat accents move, as a fraction of a whole note, 1/128 to 2; the "
        "commonest note when not given",
        FOR_BEATS, read_subdivision},
    {"hands", 0, "WORD",
        "right, left; both, or octaves (the left hand an octave below); thirds, sixths or tenths "
        "(so far below); alternate (hand over hand, group by group)",
        FOR_HANDS, read_hands},
    {"largest-group", 0, "N", "plan with groups of at most 3 or 4 fingers", FOR_HANDS,
        read_largest_group},
    {"small", 0, "WORD",
        "where the small group of a scale goes: top, bottom, or a letter A to G on which its "
        "lowest note lies in every scale; top when not given",
        FOR_HANDS, read_small},
    {"each-octave", 0, NULL,
        "4+3 again in each octave: the same finger on the same letter, at the price of more links",
        FOR_HANDS, read_each_octave},
    {"avoid-twos", 0, NULL, "groups of 2 only where nothing else is left", FOR_HANDS,
        read_avoid_twos},
    {"lifted", 0, NULL, "set by set, the hand lifted between groups, instead of connected",
        FOR_HANDS, read_lifted},
    {"start", 0, "WORD", "on: groups begin on the beat where that can be had; off: between beats",
        FOR_HANDS, read_start},
    {"ignore-marks", 0, NULL, "plan as if the file held no fingers", FOR_HANDS, read_ignore_marks},
    {"plans", 0, "K", "how many of the best fingerings are explained, 1 to 8; 3 when not given",
        BIT(SHOW), read_plans},
    {"check", 0, NULL,
        "only what is to be said against the fingers, a line each; exit code 1 when anything "
        "stands against those that the file marks; of a routine only its times",
        BIT(SHOW) | BIT(ROUTINE), read_check},
    {"student", 0, "NAME",
        "who practises, for the record; of a routine only the blocks of this student, and those "
        "that are for all",
        BIT(PRACTICE) | BIT(ROUTINE) | FOR_RECORD, read_student},
    {"no-record", 0, NULL, "nothing of this practice is written into the record",
        BIT(PRACTICE) | BIT(ROUTINE), read_no_record},
    {"from", 0, "N",
        "where a tempo ladder begins, as --tempo takes it; the passage's own tempo when not given",
        FOR_LADDER, read_from},
    {"to", 0, "N", "its goal, likewise; practice starts on the ladder", FOR_LADDER, read_to},
    {"by", 0, "STEP",
        "its steps: numbers (the metronome's), 1% to 50%, or 0.5 to 50 beats a minute, as in 2; of "
        "the record: passage, drill, student or day",
        FOR_LADDER | FOR_RECORD, read_by_any},
    {"pattern", 0, "WORD",
        "straight; two-up: two up, one back; clean: up after --clean clean ones in a row, one "
        "down after a miss (clean-5 says both); clean when not given",
        FOR_LADDER, read_pattern},
    {"clean", 0, "K", "clean repetitions in a row that lead up, 1 to 20; 3 when not given",
        FOR_LADDER, read_clean},
    {"above", 0, "N", "rungs above the goal, 0 to 4; 1 when not given", FOR_LADDER, read_above},
    {"notes-per-beat", 0, "N",
        "notes that go to a beat of the ladder, 1 to 64, for notes a second; from the passage when "
        "not given",
        BIT(LADDER), read_notes_per_beat},
    {"layers", 0, "LIST",
        "the layers that sound: pulse, subdivision, notes, accent, guide, announcement; with a "
        "level from -60 to 0 dB where wanted, such as pulse=-12,notes,accent",
        FOR_MIX, read_layers},
    {"accent", 0, "DB", "decibels that an accent lies above a note, 0 to 12", FOR_MIX, read_accent},
    {"level", 0, "DB", "master level in decibels, -60 to 0", FOR_MIX, read_level},
    {"a4", 0, "HERTZ", "pitch of A4 for the guide tones, 380 to 480", FOR_MIX, read_a4},
    {"sound", 0, "KIND=FILE",
        "an audio file of your own for downbeat, pulse, subdivision, notes, accent, announcement or "
        "bell; may be given for each",
        FOR_MIX, read_sound},
    {"rate", 0, "N", "frames a second, 8000 to 192000",
        BIT(PRACTICE) | BIT(TIMELINE) | BIT(WRITE) | BIT(SOUND) | BIT(ROUTINE), read_rate},
    {"device", 0, "NAME", "the audio device: its number or part of its name",
        BIT(PRACTICE) | BIT(SOUND) | BIT(ROUTINE), read_device},
    {"silent", 0, NULL, "open no audio device", BIT(PRACTICE) | BIT(ROUTINE), read_silent},
    {"instrument", 0, "NAME",
        "the harp whose pedals or levers are shown, such as pedal-47 or lever-34-C; a harp of your "
        "own as lever:C2:34:Eb; show takes pedal-47 when not given",
        FOR_HARP, read_instrument},
    {"names", 0, "WORD", "scientific or harp octaves, or syllables (fixed do)", FOR_HARP,
        read_names},
    {"paper", 0, "WORD", "a4 or letter", BIT(PAGE), read_paper},
    {"page", 0, "N", "which page an .svg or .png shows; the first when not given", BIT(PAGE),
        read_page},
    {"plan", 0, "FILE", "an exam plan, shown by the calendar's key", BIT(PRACTICE), read_exam_plan},
    {"months", 0, NULL, "months with the minutes of each day, instead of day by day", BIT(PLAN),
        read_months},
    {"today", 0, "DATE", "as if today were this day, such as 2026-11-25",
        BIT(PLAN) | BIT(PRACTICE) | BIT(RECORD), read_today},

    {"record", 0, NULL, "the page shows the practice record over days instead of a passage",
        BIT(PAGE), read_record},
    {"passage", 0, "TITLE", "of the record only this passage", FOR_RECORD, read_passage},
    {"since", 0, "DATE", "of the record only this day and later ones", FOR_RECORD, read_since},
    {"until", 0, "DATE", "of the record only this day and earlier ones", FOR_RECORD, read_until},
    {"csv", 0, NULL, "the list as CSV, by passage when nothing else is said", BIT(RECORD),
        read_csv},
    {"json", 0, NULL, "the list as JSON, likewise", BIT(RECORD), read_json},
    {"stale", 0, "N", "days without practice after which a passage or drill is stale, 1 to 3650",
        BIT(RECORD), read_stale},
    {"import", 0, "FILE", "take in what another machine's record holds and this one does not",
        BIT(RECORD), read_import},
    {"export-student", 0, "NAME", "copy all that is recorded of a student to the file of -o",
        BIT(RECORD), read_export_student},
    {"rename", 0, "OLD=NEW", "give a student another name", BIT(RECORD), read_rename},
    {"delete-student", 0, "NAME",
        "delete all that is recorded of a student, with --force; without it say what would go",
        BIT(RECORD), read_delete_student},
    {"backup", 0, "FILE", "copy the whole record to a file", BIT(RECORD), read_backup},

    {"output", 'o', "FILE",
        "the file to write; its ending says what: .wav .flac .ogg .mp3 or .mid, for a page .pdf "
        ".svg or .png, for a plan .ics",
        FOR_FILES, read_output},
    {"force", 'f', NULL, "overwrite the file; delete what --delete-student names", FOR_FILES,
        read_force},
    {"ascii", 0, NULL, "plain ASCII instead of UTF-8", BIT(PRACTICE) | BIT(SHOW) | BIT(ROUTINE),
        read_ascii},
    {"help", 'h', NULL, "this help; after a command, the help of that command", FOR_ALL, read_help},
    {"version", 'V', NULL, "the version", FOR_ALL, read_version},
};
enum { ROWS = sizeof table / sizeof table[0] };
_Static_assert(ROWS <= 64, "each row has a bit in the reader's unsigned long");

const OptionRow *options_table(int *count)
{
    *count = ROWS;
    return table;
}

Options options_default(void)
{
    Options o = {.command = COMMAND_ID_PRACTICE, .count_in_bars = -1, .rest_bars = -1, .a4 = 440};
    o.tempo = (Tempo){ratio_int(0), ratio_int(0)};
    o.ladder = (LadderWishes){.from = o.tempo, .to = o.tempo, .above = -1};
    o.spec = drill_plain();
    o.mix = mix_default();
    return o;
}
