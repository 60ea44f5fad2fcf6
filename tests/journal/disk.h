/* disk.h - a disk of the test's own under SQLite: it can hang, or lose its power.
 *
 * disk_insert makes it the one that every database opened afterwards in this process lies on; it
 * passes everything on to the real one. */
#ifndef EVENHAND_TESTS_JOURNAL_DISK_H
#define EVENHAND_TESTS_JOURNAL_DISK_H

#include <stdbool.h>

void disk_insert(void); /* once or more */

/* Syncing waits for as long as it hangs; any thread. */
void disk_hang(bool hangs);
/* How many syncs are waiting. */
int disk_waiting(void);

/* From now on what is synced is remembered: each file as it was at its last sync, and at first as
 * it is now. */
void disk_remember(const char *path);
/* Writes what a power cut would leave of that database to `left`: what was synced, no more. */
void disk_cut(const char *left);
/* How often the database itself, without its log, was synced since then. */
int disk_moved(void);
/* Forgets; to be called before the test's files go. */
void disk_forget(void);

#endif
