# Writes lists, texts and numbers as JSON, numbers to 15 digits: for scripts whose answers of R tests compare with.
as_json <- function(x) {
  if (is.list(x)) paste0("{", paste0("\"", names(x), "\": ", vapply(x, as_json, ""), collapse = ",\n"), "}")
  else if (is.character(x)) paste0("\"", x, "\"")
  else if (length(x) == 1) sprintf("%.15g", x)
  else paste0("[", paste(sprintf("%.15g", x), collapse = ", "), "]")
}
