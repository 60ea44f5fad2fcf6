#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/sound/spsc.h"

#include <pthread.h>
#include <sched.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>

static void bad_sizes_give_no_queue(void **state)
{
    (void)state;
    assert_null(queue_new(0, 8));
    assert_null(queue_new(4, 0));
    assert_null(queue_new(4, 3));
    assert_null(queue_new(4, 12));
    assert_null(queue_new(SIZE_MAX / 2, 4));
    assert_null(queue_new(2, SIZE_MAX / 2 + 1));
    queue_free(NULL);
}

static void first_in_first_out_and_full_at_its_room(void **state)
{
    (void)state;
    for (size_t room = 1; room <= 64; room *= 2) {
        Queue *q = queue_new(sizeof(int), room);
        assert_non_null(q);
        int item = -1;
        assert_false(queue_pop(q, &item));
        for (int i = 0; i < (int)room; i++) {
            assert_false(queue_full(q));
            assert_true(queue_push(q, &i));
        }
        assert_true(queue_full(q));
        assert_false(queue_push(q, &item));
        assert_false(queue_push(q, &item));
        assert_int_equal(queue_refused(q), 2);
        for (int i = 0; i < (int)room; i++) {
            assert_true(queue_pop(q, &item));
            assert_int_equal(item, i);
        }
        assert_false(queue_pop(q, &item));
        queue_free(q);
    }
}

/* Odd item sizes, and many turns round the ring at every filling. */
static void keeps_its_bytes_all_the_way_round(void **state)
{
    (void)state;
    enum { SIZE = 13, ROOM = 8 };
    Queue *q = queue_new(SIZE, ROOM);
    unsigned char in[SIZE], out[SIZE], want[SIZE];
    unsigned added = 0, taken = 0;
    for (int filling = 1; filling <= ROOM; filling++)
        for (int turn = 0; turn < 100; turn++) {
            while (added - taken < (unsigned)filling) {
                memset(in, (int)(added % 251), SIZE);
                assert_true(queue_push(q, in));
                added++;
            }
            assert_true(queue_pop(q, out));
            memset(want, (int)(taken % 251), SIZE);
            assert_memory_equal(out, want, SIZE);
            taken++;
        }
    assert_int_equal(queue_refused(q), 0);
    queue_free(q);
}

/* Two threads: what arrives is what was accepted, in order, each item whole. */
typedef struct {
    uint64_t number, twice, negated;
} Item;

enum { ITEMS = 400000 };

typedef struct {
    Queue *queue;
    _Atomic bool done;
    uint64_t accepted, refused;
} Producer;

static void *produce(void *argument)
{
    Producer *p = argument;
    for (uint64_t n = 0; n < ITEMS; n++) {
        const Item item = {n, 2 * n, ~n};
        if (queue_push(p->queue, &item)) {
            p->accepted++;
        } else {
            p->refused++;
            sched_yield(); /* lets the other side run where there is one processor */
        }
    }
    atomic_store(&p->done, true);
    return NULL;
}

static void two_threads_lose_and_tear_nothing(void **state)
{
    (void)state;
    Producer p = {.queue = queue_new(sizeof(Item), 32)};
    pthread_t thread;
    assert_int_equal(pthread_create(&thread, NULL, produce, &p), 0);
    uint64_t taken = 0, next = 0, torn = 0, disordered = 0;
    for (bool last = false; !last;) {
        last = atomic_load(&p.done); /* asked before the queue is emptied for the last time */
        Item item;
        while (queue_pop(p.queue, &item)) {
            torn += item.twice != 2 * item.number || item.negated != ~item.number;
            disordered += item.number < next;
            next = item.number + 1;
            taken++;
        }
    }
    pthread_join(thread, NULL);
    assert_int_equal(torn, 0);
    assert_int_equal(disordered, 0);
    assert_int_equal(taken, p.accepted);
    assert_int_equal(p.accepted + p.refused, ITEMS);
    assert_int_equal(queue_refused(p.queue), p.refused);
    queue_free(p.queue);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bad_sizes_give_no_queue),
        cmocka_unit_test(first_in_first_out_and_full_at_its_room),
        cmocka_unit_test(keeps_its_bytes_all_the_way_round),
        cmocka_unit_test(two_threads_lose_and_tear_nothing),
    };
    return cmocka_run_group_tests_name("spsc", tests, NULL, NULL);
}
