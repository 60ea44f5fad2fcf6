#include "evenhand/sound/spsc.h"

#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>

/* Both counters only ever grow (and wrap together at SIZE_MAX); an item's cell is its number
 * modulo the room:
 *
 *        taken            added
 *          v                v
 *    . . . [item][item][item] . . .        added - taken items wait
 *
 * The producer alone writes `added`, the consumer alone `taken`. Each publishes with release
 * after touching the cell, so whoever reads the counter with acquire may touch the cell next.
 * The gap keeps the two counters on cache lines of their own. */
struct Queue {
    _Atomic size_t added;
    _Atomic uint64_t refused;
    char gap[64];
    _Atomic size_t taken;
    size_t item_size;
    size_t room;
    unsigned char cells[];
};

Queue *queue_new(size_t item_size, size_t room)
{
    if (item_size == 0 || room == 0 || (room & (room - 1)) != 0)
        return NULL;
    if (room > (SIZE_MAX - sizeof(Queue)) / item_size)
        return NULL;
    Queue *q = calloc(1, sizeof *q + item_size * room);
    if (!q)
        return NULL;
    atomic_init(&q->added, 0);
    atomic_init(&q->taken, 0);
    atomic_init(&q->refused, 0);
    q->item_size = item_size;
    q->room = room;
    return q;
}

void queue_free(Queue *q)
{
    free(q);
}

bool queue_full(const Queue *q)
{
    const size_t added = atomic_load_explicit(&q->added, memory_order_relaxed);
    const size_t taken = atomic_load_explicit(&q->taken, memory_order_acquire);
    return added - taken == q->room;
}

bool queue_push(Queue *q, const void *item)
{
    if (queue_full(q)) {
        atomic_fetch_add_explicit(&q->refused, 1, memory_order_relaxed);
        return false;
    }
    const size_t added = atomic_load_explicit(&q->added, memory_order_relaxed);
    memcpy(q->cells + (added & (q->room - 1)) * q->item_size, item, q->item_size);
    atomic_store_explicit(&q->added, added + 1, memory_order_release);
    return true;
}

bool queue_pop(Queue *q, void *item)
{
    const size_t taken = atomic_load_explicit(&q->taken, memory_order_relaxed);
    const size_t added = atomic_load_explicit(&q->added, memory_order_acquire);
    if (added == taken)
        return false;
    memcpy(item, q->cells + (taken & (q->room - 1)) * q->item_size, q->item_size);
    atomic_store_explicit(&q->taken, taken + 1, memory_order_release);
    return true;
}

uint64_t queue_refused(const Queue *q)
{
    return atomic_load_explicit(&q->refused, memory_order_relaxed);
}
