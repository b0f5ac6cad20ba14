# Reference values for tests/gauges/test_reference_values.py, from base R: own factors of appraisers (Mandel's bundle of straight
# lines), trials of single appraisers, and whether masters agree (Welch). Run in this folder: Rscript own_scales.R
found <- list()
keep <- function(name, ...) found[[name]] <<- unlist(list(...))
even <- read.csv("crossed_even.csv", stringsAsFactors = FALSE)

# Mandel: means of cells by part and appraiser, then by each appraiser's own slope on the means of the parts.
cells <- aggregate(value ~ part + who, even, mean)
cells$size <- ave(cells$value, cells$part) - mean(cells$value)
plain <- lm(value ~ factor(part) + factor(who), cells)
own <- lm(value ~ factor(part) + factor(who) + factor(who):size, cells)
steps <- anova(plain, own)
keep("own_factor", f = steps$F[2], p = steps[["Pr(>F)"]][2])

# Trials of each appraiser beside trials of all, within cells.
even$cell <- paste(even$part, even$who)
all <- lm(value ~ factor(cell) + factor(trial), even)
each <- lm(value ~ factor(cell) + factor(trial) * factor(who), even)
keep("trials_of_each", p = anova(all, each)[["Pr(>F)"]][2])

# Masters: Welch's one-way test of their errors.
masters <- read.csv("masters.csv")
masters$error <- masters$value - masters$reference
welch <- oneway.test(error ~ factor(reference), masters)
keep("masters_agree", f = unname(welch$statistic), p = welch$p.value)

out <- sapply(names(found), function(name) {
  sprintf('  "%s": {\n%s\n  }', name, paste(sapply(seq_along(found[[name]]), function(i)
    sprintf('    "%s": %s', names(found[[name]])[i], format(found[[name]][[i]], digits = 12))), collapse = ",\n"))
})
writeLines(sprintf('{\n  "made_with": "R %s.%s",\n%s\n}', R.version$major, R.version$minor, paste(out, collapse = ",\n")),
           "own_scales.json")
