/* sound_test.h - plays a few clicks through the player and says in words how it went. */
#ifndef EVENHAND_APP_SOUND_TEST_H
#define EVENHAND_APP_SOUND_TEST_H

#include "evenhand/app/options.h"

/* Opens the device that the options ask for, announces, plays, tells on standard output.
 * ERROR_DEVICE: nothing was played, or not to the end; other errors from making the sounds.
 * Console thread; takes about three seconds. */
bool sound_test(const Options *o, Error *error);

#endif
