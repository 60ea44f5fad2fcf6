#include "evenhand/app/command.h"
#include "evenhand/app/load.h"
#include "evenhand/app/report.h"

/* FILE:X and the title, tab-separated: the first field is what the other commands take. */
bool command_passages(const Options *o, Error *error)
{
    Choices all = {0};
    Text text = {0};
    bool done =
        o->file ? choices_add_file(&all, o->file, false, error) : choices_add_bundled(&all, error);
    for (size_t i = 0; done && i < all.count; i++)
        done = text_add(&text, "%s\t%s\n", all.items[i].given, all.items[i].title) ||
               error_set(error, ERROR_MEMORY, "there is no memory for the list");
    done = done && report_text(&text, error);
    text_free(&text);
    choices_free(&all);
    return done;
}
