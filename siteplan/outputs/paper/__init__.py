"""Pages to print: the shell and the style that sheets and the acceptance list share."""
