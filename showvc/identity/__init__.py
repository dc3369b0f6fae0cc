"""Who is who: names, labels and content; ids that changed. Knows only documents."""
