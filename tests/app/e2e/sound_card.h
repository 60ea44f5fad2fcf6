/* sound_card.h - the loopback of tests/sound for one test, and nothing of it left behind. Include
 * after cmocka.h.
 */
#ifndef EVENHAND_TESTS_APP_E2E_SOUND_CARD_H
#define EVENHAND_TESTS_APP_E2E_SOUND_CARD_H

#include "sound/loopback.h"
#include "watcher.h"

typedef struct {
    Loopback loop;
    Watcher watcher;
} SoundCard;

/* The loopback's own guard ends its processes when the test is gone, by the ids in the directory;
 * then nobody needs the directory any more. */
static inline void sound_card_begin(SoundCard *c)
{
    char command[512];
    const char *where = c->loop.directory;
    loopback_start(&c->loop);
    snprintf(command, sizeof command,
        "while ls %s/*.pid; do ended=1; sleep 0.1; done; [ -z \"$ended\" ] || sleep 1; rm -rf %s",
        where, where);
    watcher_begin(&c->watcher, command);
}

static inline void sound_card_end(SoundCard *c)
{
    loopback_stop(&c->loop);
    watcher_end(&c->watcher);
}

#endif
