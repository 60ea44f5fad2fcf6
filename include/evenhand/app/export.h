/* export.h - writes what is practised to a file: audio through the renderer, or MIDI. */
#ifndef EVENHAND_APP_EXPORT_H
#define EVENHAND_APP_EXPORT_H

#include "evenhand/app/load.h"

/* True for an ending that can be written: .wav .flac .ogg .mp3 (where libsndfile can), .mid.
 * ERROR_USAGE otherwise. */
bool export_can(const char *path, Error *error);
/* Writes every step of the session to path, atomically, with progress on standard error where
 * that is a terminal. ERROR_EXISTS for a file that is there, unless `force`. */
bool export_write(const Loaded *l, const Options *o, const char *path, bool force, Error *error);

#endif
