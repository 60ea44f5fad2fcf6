/* fingering_links.h - what links cost, by class of the two groups. Internal to the room; pure.
 *
 * What a link costs depends of the two groups only on their sizes and on the fingers that meet,
 * and of the place only on a few numbers that hardly change along a scale: tables of these costs
 * are kept from stop to stop.
 *
 *     class    0 1 2 3    4 5 6    7 8    9     of four fingers each may be first (or last) in a
 *     size        1         2       3     4     group of one, three in a group of two, and so on
 */
#ifndef EVENHAND_SRC_HARP_FINGERING_LINKS_H
#define EVENHAND_SRC_HARP_FINGERING_LINKS_H

#include "fingering_rules.h"

enum { CLASSES = 10, LINK_TABLES = 128 };

/* The class of a group of this size going `way`, by its first finger or by its last. */
int class_of(int size, int way, bool first, int finger);
int class_size(int class);
int class_finger(int class, int way, bool first);

/* What the costs of a link depend on besides the classes; all zero where the hand leaves the
 * strings anyway. */
typedef struct {
    int gap, a_way, b_way;
    int64_t micros;
    bool blocks, breath, known;
} LinkKind;

typedef struct {
    LinkKind kind;
    int32_t cost[CLASSES][CLASSES]; /* [class of what begins][class of what ended] */
} LinkTable;

/* The costs of the links from groups that end on stop `end` to groups that begin on the next; a
 * row for groups that cannot begin there means nothing. `tables` begin as zeros. */
const LinkTable *links_behind(LinkTable tables[LINK_TABLES], const Rules *r, size_t end);

#endif
