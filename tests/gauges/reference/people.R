# Reference values for tests/gauges/comparison/test_systems.py and tests/gauges/destructive/test_tester_study.py, from
# base R: two systems read by the same people, a system with a third factor, the ratio of two GRR, and the spread within
# batches with the freedom that its tails leave. Run in this folder: Rscript people.R
found <- list()
keep <- function(name, ...) found[[name]] <<- unlist(list(...))
three <- read.csv("crossed_three.csv", stringsAsFactors = FALSE)

# Two days as systems, the same people: mean of a two-way table of differences without repeats, parts and people random
# (Satterthwaite, and no more freedom than parts have).
cell <- aggregate(value ~ part + who + day, three, mean)
days <- sort(unique(cell$day))
# Of parts that all of them read on both days.
cell <- cell[cell$day %in% days[1:2], ]
cell <- cell[cell$part %in% names(which(table(cell$part) == max(table(cell$part)))), ]
one <- cell[cell$day == days[1], ]; two <- cell[cell$day == days[2], ]
both <- merge(one, two, by = c("part", "who"))
both$apart <- both$value.y - both$value.x
squares <- anova(lm(apart ~ factor(part) + factor(who), both))
ms <- squares[["Mean Sq"]]; df <- squares[["Df"]]
sum_ms <- ms[1] + ms[2] - ms[3]
freedom <- min(sum_ms^2 / sum(ms^2 / df), df[1])
if (sum_ms <= ms[1]) { sum_ms <- ms[1]; freedom <- df[1] }
error <- sqrt(sum_ms / nrow(both))
half <- qt(0.975, freedom) * error
keep("same_people", bias = mean(both$apart), low = mean(both$apart) - half, high = mean(both$apart) + half,
     p = 2 * pt(-abs(mean(both$apart)) / error, freedom))

# People as systems, the day a third factor of each: the ratio of spreads within part and day.
within <- function(x) anova(lm(value ~ factor(part) * factor(day), x))[["Mean Sq"]][4]
people <- sort(unique(three$who))
keep("third_factor", ratio = sqrt(within(three[three$who == people[2], ]) / within(three[three$who == people[1], ])))

# Ratio of two standard deviations, of each of which an interval is known (Donner & Zou 2012, on logarithms).
a <- log(c(0.10, 0.08, 0.15)); b <- log(c(0.12, 0.10, 0.20))
d <- b[1] - a[1]
keep("ratio", ratio = exp(d), low = exp(d - sqrt((b[1] - b[2])^2 + (a[3] - a[1])^2)),
     high = exp(d + sqrt((b[3] - b[1])^2 + (a[1] - a[2])^2)))

# Within batches by one tester: chi-square with degrees of freedom by twice the kurtosis that the deviations show.
even <- read.csv("crossed_even.csv", stringsAsFactors = FALSE)
rest <- residuals(lm(value ~ factor(part) * factor(who), even))
m <- as.numeric(table(paste(even$part, even$who)))
free <- sum(m - 1)
s2 <- sum(rest^2) / free
fourth <- sum(rest^4) / (s2^2 / (1 + 2 / free))
excess <- (fourth - 3 * sum(m * (1 - 1 / m)^2)) / sum(m * ((1 - 1 / m)^4 + (m - 1) / m^4))
left <- free / (1 + max(2 * excess, 0) * sum((m - 1)^2 / m) / (2 * free))
keep("within_batches", sd = sqrt(s2), low = sqrt(left * s2 / qchisq(0.975, left)), high = sqrt(left * s2 / qchisq(0.025, left)))

out <- sapply(names(found), function(name) {
  sprintf('  "%s": {\n%s\n  }', name, paste(sapply(seq_along(found[[name]]), function(i)
    sprintf('    "%s": %s', names(found[[name]])[i], format(found[[name]][[i]], digits = 15))), collapse = ",\n"))
})
writeLines(sprintf('{\n  "made_with": "R %s.%s",\n%s\n}', R.version$major, R.version$minor, paste(out, collapse = ",\n")),
           "people.json")
