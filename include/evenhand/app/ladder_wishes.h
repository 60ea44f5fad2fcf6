/* ladder_wishes.h - from what was said on the command line to a tempo ladder. Any thread; nothing
 * is read or kept. */
#ifndef EVENHAND_APP_LADDER_WISHES_H
#define EVENHAND_APP_LADDER_WISHES_H

#include "evenhand/app/options.h"

/* A start or a goal was given: practice starts on a ladder. */
bool ladder_wished(const LadderWishes *w);

/* Start and goal, in one beat unit. A bare number counts the passage's beat unit; the one that
 * was not given is --tempo's, else the passage's own tempo, told in the beat unit of the other.
 * Without a passage (NULL) both must be given, and a bare number counts what the other names, or
 * quarters. ERROR_USAGE where one is missing. */
bool ladder_wishes_tempos(
    const Options *o, const Passage *p, Tempo *start, Tempo *goal, Error *error);

/* A ladder from start to goal as wished; what is left open is as ladder_default has it.
 * ERROR_USAGE for --clean with a pattern that does not count. */
bool ladder_wishes_spec(const Options *o, Tempo start, Tempo goal, LadderSpec *out, Error *error);

#endif
