/* spsc.h - a queue of fixed-size items for one producer thread and one consumer thread.
 *
 * C11 atomics, no lock, no allocation after queue_new; neither side ever waits. A full queue
 * refuses the item and counts the refusal. Room is a power of two.
 */
#ifndef EVENHAND_SOUND_SPSC_H
#define EVENHAND_SOUND_SPSC_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct Queue Queue;

Queue *queue_new(size_t item_size, size_t room); /* NULL without memory or with a bad size */
void queue_free(Queue *q);                       /* NULL is fine */
bool queue_push(Queue *q, const void *item);     /* producer only; false: full, counted */
bool queue_pop(Queue *q, void *item);            /* consumer only; false: empty */
bool queue_full(const Queue *q);                 /* producer only: a push would be refused */
uint64_t queue_refused(const Queue *q);          /* either thread */

#endif
