# evenhand - see README.md for the two commands, DEVELOPERS.md for the rest.
include .ci/rules.mk
