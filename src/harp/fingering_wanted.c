/* What figures that come back ask of the second search. */
#include "fingering_figures.h"

#include <stdlib.h>

/* The finger of every stop in the chain. */
static void fingers_of(const Rules *r, const Chain *chain, uint8_t *fingers)
{
    for (size_t g = 0; g < chain->count; g++) {
        const ChainLink *group = &chain->groups[g];
        Hand hand = hand_of(r, group);
        for (int32_t i = group->start; i <= group->end; i++)
            fingers[i] = (uint8_t)hand_finger(&hand, r->stops[i].string);
    }
}

/* What was asked of a stop first stays. True where the chain has another finger. */
static bool ask(Rules *r, size_t stop, uint8_t finger, int32_t price, const uint8_t *fingers)
{
    Stop *s = &r->stops[stop];
    if (s->wanted != 0 || s->chord > 1)
        return false;
    s->wanted = finger;
    s->wanted_cost = price;
    return fingers[stop] != finger;
}

static bool ask_return(Rules *r, const Return *back, int32_t price, const uint8_t *fingers)
{
    bool differs = false;
    for (int32_t i = 0; i < back->count; i++) {
        size_t there = (size_t)(back->earlier + i), here = (size_t)(back->first + i);
        /* The model wants its own fingers too, lest the second search trade them away. */
        differs = ask(r, there, fingers[there], price, fingers) || differs;
        differs = ask(r, here, r->stops[there].wanted, price, fingers) || differs;
    }
    return differs;
}

bool figures_want(Rules *r, const Passage *p, const Chain *chain)
{
    static const int32_t price[] = {[RETURN_WHOLE] = COST_CHANGED,
        [RETURN_MOVED] = COST_CHANGED_MOVED,
        [RETURN_BEGUN] = COST_CHANGED_PART,
        [RETURN_ENDING] = COST_CHANGED_PART};
    bool differs = false;
    size_t found = 0;
    uint8_t *fingers = NULL;
    Return *returns = figures_find(r, p, &found);
    if (returns == NULL)
        goto out; /* nothing comes back, or there is no memory: the first plan stands */
    fingers = malloc(r->count);
    if (fingers == NULL)
        goto out;
    fingers_of(r, chain, fingers);
    for (ReturnKind kind = RETURN_WHOLE; kind <= RETURN_ENDING; kind++)
        for (size_t i = 0; i < found; i++)
            if (returns[i].kind == kind)
                differs = ask_return(r, &returns[i], price[kind], fingers) || differs;
out:
    free(returns);
    free(fingers);
    return differs;
}
