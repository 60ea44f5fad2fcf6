/* record_charts.h - the practice record as a page. Internal to the room. */
#ifndef EVENHAND_SRC_APP_RECORD_CHARTS_H
#define EVENHAND_SRC_APP_RECORD_CHARTS_H

#include "evenhand/app/options.h"
#include "evenhand/formats/page.h"

/* Appends the bytes of the page that o->record asks for. ERROR_RECORD where nothing is recorded. */
bool record_charts_draw(
    const Options *o, const PageOptions *wanted, Text *out, int *pages, Error *error);

#endif
