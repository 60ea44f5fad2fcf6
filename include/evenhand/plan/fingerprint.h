/* fingerprint.h - tells whether a passage, or its fingering, is still the one it was. Pure.
 *
 * The notes' fingerprint holds pitches, lengths and places; not title, key signature, tempo or
 * file, so that a renamed or marked file is the same passage. The fingers' one holds fingers,
 * groups and links. 64-bit FNV-1a over integers in little-endian order, the same on every
 * machine. [constants: IETF draft-eastlake-fnv] */
#ifndef EVENHAND_PLAN_FINGERPRINT_H
#define EVENHAND_PLAN_FINGERPRINT_H

#include "evenhand/drill/drill.h"

uint64_t fingerprint_notes(const Passage *p);
uint64_t fingerprint_fingers(const Fingering *f);

#endif
