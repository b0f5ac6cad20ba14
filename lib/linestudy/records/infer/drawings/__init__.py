"""Lists of characteristics as drawings and plans bring them: what is a name, a size, a limit."""
