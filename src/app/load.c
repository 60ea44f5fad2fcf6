#include "evenhand/app/load.h"

#include "evenhand/app/defaults.h"
#include "evenhand/app/remarks.h"
#include "evenhand/app/values.h"
#include "evenhand/formats/abc.h"
#include "evenhand/harp/wishes.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { REFERENCE_MAX = 999999999 };

bool load_split(const char *given, char path[PATHS_MAX], int *reference, Error *error)
{
    *reference = 0;
    if (strlen(given) >= PATHS_MAX)
        return error_set(
            error, ERROR_LIMIT, "a file's name is longer than %d bytes", PATHS_MAX - 1);
    strcpy(path, given);
    struct stat s;
    char *colon = strrchr(path, ':');
    if (!colon || colon == path || stat(path, &s) == 0)
        return true;
    if (strchr(colon, '/'))
        return true; /* the colon belongs to a directory's name */
    if (!value_int(colon + 1, "FILE:X", 1, REFERENCE_MAX, reference, error))
        return false;
    *colon = '\0';
    return true;
}

static bool read_all(int fd, Text *text, Error *error)
{
    char chunk[16384];
    for (;;) {
        ssize_t got = read(fd, chunk, sizeof chunk);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return error_set(error, ERROR_READ, "cannot be read: %s", strerror(errno));
        if (got == 0)
            return true;
        if (text->size + (size_t)got > ABC_BYTES_MAX)
            return error_set(
                error, ERROR_LIMIT, "is larger than %d bytes (1 MiB)", (int)ABC_BYTES_MAX);
        if (!text_add_bytes(text, chunk, (size_t)got))
            return error_set(error, ERROR_MEMORY, "there is no memory for the file");
    }
}

bool load_bytes(const char *path, Text *text, Error *error)
{
    bool standard = strcmp(path, "-") == 0;
    *text = (Text){0};
    int fd = standard ? STDIN_FILENO : open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0) {
        if (errno == ENOENT && !strpbrk(path, "/."))
            error_set(error, ERROR_READ, "there is no command and no file of this name");
        else
            error_set(error, ERROR_READ, "cannot be read: %s", strerror(errno));
        error_source(error, path);
        return false;
    }
    bool done = read_all(fd, text, error);
    if (!standard)
        close(fd);
    if (done)
        return true;
    error_source(error, standard ? "standard input" : path);
    text_free(text);
    return false;
}

static SessionOptions session_options(const Options *o, const Passage *p)
{
    SessionOptions s = {.tempo = p->tempo, .repetitions = o->repetitions, .base = o->spec};
    if (ratio_valid(o->tempo.per_minute) && o->tempo.per_minute.num > 0) {
        s.tempo.per_minute = o->tempo.per_minute;
        if (o->tempo.beat.num > 0)
            s.tempo.beat = o->tempo.beat;
    }
    s.count_in_bars = o->count_in_bars > 0 ? o->count_in_bars : 0;
    s.rest_bars = o->rest_bars < 0 ? 0 : o->rest_bars == 0 ? -1 : o->rest_bars;
    return s;
}

/* A place or finger that this passage lacks is told now, with the file's name. */
static bool check_drill(const Loaded *l, const DrillSpec *spec, Error *error)
{
    Drill drill;
    Stage *s = stage_new(l->passage, &l->fingering, &l->rotation, spec, error);
    bool done =
        s != NULL && drill_build(s->passage, s->fingering, s->rotation, spec, &drill, error);
    if (done)
        drill_free(&drill);
    stage_free(s);
    return done;
}

static bool is_staged(const Loaded *l, const Placing *placing)
{
    for (size_t i = 0; i < l->stage_count; i++)
        if (placing_equal(&l->stages[i]->placing, placing))
            return true;
    return false;
}

static bool add_stage(Loaded *l, const DrillSpec *spec, Error *error)
{
    Stage **stages = realloc(l->stages, (l->stage_count + 1) * sizeof(Stage *));
    if (stages == NULL)
        return error_set(error, ERROR_MEMORY, "there is no memory for the drills");
    l->stages = stages;
    Stage *stage = stage_new(l->passage, &l->fingering, &l->rotation, spec, error);
    if (stage == NULL)
        return false;
    l->stages[l->stage_count++] = stage;
    return true;
}

bool loaded_stages(Loaded *l, Error *error)
{
    DrillSpec plain = drill_plain();
    if (l->stage_count == 0 && !add_stage(l, &plain, error))
        return false;
    for (size_t i = 0; i < l->session.count; i++) {
        const DrillSpec *spec = &l->session.steps[i].drill;
        if (!is_staged(l, &spec->placing) && !add_stage(l, spec, error))
            return false;
    }
    return true;
}

size_t loaded_stage_index(const Loaded *l, size_t step)
{
    const Placing *placing = &l->session.steps[step].drill.placing;
    size_t i = l->stage_count - 1;
    while (i > 0 && !placing_equal(&l->stages[i]->placing, placing))
        i--;
    return i;
}

Timeline *loaded_timeline(
    const Loaded *l, size_t step, const DrillSpec *next, int rate, Error *error)
{
    const Stage *stage = l->stages[loaded_stage_index(l, step)];
    return stage_timeline(stage, &l->session.steps[step], next, rate, error);
}

/* The drills of a routine's block, one after the other. */
static bool session_listed(Loaded *l, const Options *o, const SessionOptions *options, Error *error)
{
    Session one;
    l->session.steps = calloc((size_t)o->drill_count, sizeof *l->session.steps);
    if (!l->session.steps)
        return error_set(error, ERROR_MEMORY, "there is no memory for the drills");
    for (int i = 0; i < o->drill_count; i++) {
        if (!check_drill(l, &o->drills[i], error) ||
            !session_single(l->passage, &o->drills[i], options, &one, error))
            return false;
        l->session.steps[l->session.count++] = one.steps[0];
        session_free(&one);
    }
    return true;
}

static bool make_session(Loaded *l, const Options *o, const SessionOptions *options, Error *error)
{
    if (o->drill && !check_drill(l, &o->spec, error))
        return false;
    bool done = o->drill_count > 0 ? session_listed(l, o, options, error)
                : o->drill ? session_single(l->passage, &o->spec, options, &l->session, error)
                           : session_default(l->passage, &l->fingering, &l->rotation, options,
                                 &l->session, error);
    if (!done)
        return false;
    for (size_t i = 0; o->count_in_bars == 0 && i < l->session.count; i++)
        l->session.steps[i].count_in_bars = 0;
    return loaded_stages(l, error);
}

FingeringOptions load_fingering_options(const Options *o, const Passage *p)
{
    const FingeringOptions *given = &o->fingers;
    FingeringOptions fingers = {.ignore_marks = given->ignore_marks, .fixed = given->fixed};
    Error error = {0};
    /* The player's defaults, then the passage's own (checked when it was read), then the command
     * line's. Defaults that cannot be read were told by make_all. */
    defaults_fingers(&fingers, &error);
    fingering_wishes(p->wishes, &fingers, &error);
    if (o->has_small) {
        fingers.small = given->small;
        fingers.small_letter = given->small_letter;
    }
    if (given->largest_group != 0)
        fingers.largest_group = given->largest_group;
    if (given->start != GROUPS_ANYWHERE)
        fingers.start = given->start;
    fingers.octaves = fingers.octaves || given->octaves;
    fingers.avoid_twos = fingers.avoid_twos || given->avoid_twos;
    fingers.lifted = fingers.lifted || given->lifted;
    fingers.tempo = session_options(o, p).tempo;
    return fingers;
}

static bool copy_fingers(const Fingering *from, Fingering *to, Error *error)
{
    *to = *from;
    to->notes = malloc(from->note_count * sizeof *to->notes);
    to->groups = malloc(from->group_count * sizeof *to->groups);
    if (!to->notes || !to->groups) {
        fingering_free(to);
        return error_set(error, ERROR_MEMORY, "there is no memory for the fingers");
    }
    memcpy(to->notes, from->notes, from->note_count * sizeof *to->notes);
    memcpy(to->groups, from->groups, from->group_count * sizeof *to->groups);
    return true;
}

static bool make_fingers(Loaded *l, const Options *o, const Fingering *given, Error *error)
{
    FingeringOptions defaults = {0};
    if (!defaults_fingers(&defaults, error))
        return false;
    FingeringOptions options = load_fingering_options(o, l->passage);
    return given ? copy_fingers(given, &l->fingering, error)
                 : fingering_plan(l->passage, &options, &l->fingering, error);
}

/* `given` NULL: the fingers are planned. */
static bool make_all(Loaded *l, const Options *o, const Fingering *given, Error *error)
{
    if (o->has_hands)
        l->passage->hands = o->hands;
    SessionOptions session = session_options(o, l->passage);
    if (!tempo_valid(session.tempo))
        return error_set(error, ERROR_RANGE,
            "the tempo is outside %d to %d beats a minute; give another with --tempo", TEMPO_MIN,
            TEMPO_MAX);
    return make_fingers(l, o, given, error) &&
           rotation_plan(l->passage, &l->fingering, &o->spec.beats, o->spec.subdivision,
               &l->rotation, error) &&
           make_session(l, o, &session, error);
}

/* Not where the remarks themselves are asked for. */
static bool tell_remarks(Loaded *l, const Options *o, Error *error)
{
    FingeringOptions fingers = load_fingering_options(o, l->passage);
    return o->check || remarks_notice(l->passage, &fingers, error);
}

/* The largest beat that a bar of the passage has; 0: some bar is in free metre. */
static int beats_there(const Passage *p)
{
    int most = 0;
    for (size_t i = 0; i < p->bar_count; i++) {
        if (metre_free(&p->bars[i].metre))
            return 0;
        most = p->bars[i].metre.num > most ? p->bars[i].metre.num : most;
    }
    return most;
}

/* Beats of the command line must be in the passage's metre. */
static bool check_beats(const Passage *p, const BeatPattern *beats, Error *error)
{
    char given[RATIO_TEXT_MAX];
    int most = beats_there(p);
    for (int i = 0; most > 0 && i < beats->count; i++)
        if (ratio_cmp(beats->at[i], ratio_int(most + 1)) >= 0)
            return error_set(error, ERROR_USAGE,
                "--beats takes beats of this passage's metre, 1 to %d, not %s", most,
                ratio_text(beats->at[i], given));
    return true;
}

/* Beats on which nothing begins would leave the plain drill without an accent; a step that does
 * not divide the pattern's period never brings it back. */
static bool check_rotation(const Rotation *r, const DrillSpec *spec, Error *error)
{
    char given[RATIO_TEXT_MAX], period[RATIO_TEXT_MAX];
    if (spec->beats.count > 0 && r->places[0].shift.num != 0)
        return error_set(error, ERROR_USAGE, "no note of this passage begins on a beat of --beats");
    bool moved = ratio_valid(spec->subdivision) && spec->subdivision.num > 0;
    if (!moved || ratio_divides(spec->subdivision, r->period))
        return true;
    return error_set(error, ERROR_USAGE,
        "--subdivision %s never brings the strong beats back, which return after %s: take a length "
        "that divides it",
        ratio_text(ratio_div(spec->subdivision, ratio_int(4)), given),
        ratio_text(ratio_div(r->period, ratio_int(4)), period));
}

/* Strings of the usual pedal harp: 47, C1 to G7 (encyclopaedia, "Concert harp"). */
static void tell_range(Passage *p)
{
    const int lowest = pitch_string((Pitch){.letter = LETTER_C, .octave = 1});
    const int highest = pitch_string((Pitch){.letter = LETTER_G, .octave = 7});
    for (size_t i = 0; i < p->note_count; i++) {
        const Note *n = &p->notes[i];
        int string = pitch_string(n->pitch);
        int low = string - hands_below(p->hands);
        char name[PITCH_NAME_MAX];
        if (low >= lowest && string <= highest)
            continue;
        passage_notice(p, n->line, n->column, "%s%s lies beyond a harp's strings, C1 to G7",
            pitch_name(n->pitch, false, name),
            string >= lowest && string <= highest ? ", with the left hand below it," : "");
        return;
    }
}

bool load_text(const char *text, size_t size, const char *source, int reference,
    const Options *options, Loaded *out, Error *error)
{
    memset(out, 0, sizeof *out);
    out->passage = abc_read(text, size, reference, error);
    if (out->passage && check_beats(out->passage, &options->spec.beats, error) &&
        make_all(out, options, NULL, error) &&
        check_rotation(&out->rotation, &options->spec, error) &&
        tell_remarks(out, options, error)) {
        tell_range(out->passage);
        return true;
    }
    load_doubt(source, error);
    error_source(error, source);
    loaded_free(out);
    return false;
}

bool load_again(const Passage *passage, const Options *options, const Fingering *fingers,
    Loaded *out, Error *error)
{
    memset(out, 0, sizeof *out);
    out->passage = passage_copy(passage);
    if (!out->passage)
        return error_set(error, ERROR_MEMORY, "there is no memory for the passage");
    if (make_all(out, options, fingers, error))
        return true;
    loaded_free(out);
    return false;
}

/* The first bundled passage as load_passage takes it; NULL on error, else the caller frees. */
static char *first_bundled(Error *error)
{
    Choices all = {0};
    char *given = NULL;
    if (choices_add_bundled(&all, error)) {
        given = all.items[0].given;
        all.items[0].given = NULL;
    }
    choices_free(&all);
    return given;
}

bool load_passage(const char *given, const Options *options, Loaded *out, Error *error)
{
    memset(out, 0, sizeof *out);
    char path[PATHS_MAX];
    int reference;
    Text text = {0};
    bool done = false;
    char *bundled = given ? NULL : first_bundled(error);
    if ((given || bundled) && load_split(given ? given : bundled, path, &reference, error) &&
        load_bytes(path, &text, error)) {
        const char *source = strcmp(path, "-") == 0 ? "standard input" : path;
        done = load_text(
            text.bytes ? text.bytes : "", text.size, source, reference, options, out, error);
    }
    text_free(&text);
    free(bundled);
    return done;
}

void loaded_free(Loaded *l)
{
    for (size_t i = 0; i < l->stage_count; i++)
        stage_free(l->stages[i]);
    free(l->stages);
    session_free(&l->session);
    rotation_free(&l->rotation);
    fingering_free(&l->fingering);
    passage_free(l->passage);
    memset(l, 0, sizeof *l);
}

VoiceBank *load_voices(const Options *options, int rate, Error *error)
{
    char directory[PATHS_MAX];
    if (!paths_data("sounds", directory, error))
        return NULL;
    return voices_load(directory, options->own, rate, error);
}
