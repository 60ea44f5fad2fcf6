#include "docs_read.h"

#include "evenhand/music/text.h"

#include <stdio.h>

char *docs_read(const char *path)
{
    FILE *f = fopen(path, "rb");
    Text text = {0};
    char part[4096];
    size_t size;

    if (f == NULL) {
        fprintf(stderr, "%s cannot be opened\n", path);
        return NULL;
    }
    while ((size = fread(part, 1, sizeof part, f)) > 0 && text_add_bytes(&text, part, size))
        continue;
    fclose(f);
    return text.bytes;
}
