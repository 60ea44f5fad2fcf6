/* docs_read.h - a whole document as text, for the tests that compare documents with the tree. */
#ifndef TESTS_APP_DOCS_READ_H
#define TESTS_APP_DOCS_READ_H

/* Path from the repository's root. NULL where it cannot be read; the caller frees. */
char *docs_read(const char *path);

#endif
