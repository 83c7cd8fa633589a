"""Writers of files. They decide nothing: everything has its place when it gets here."""
