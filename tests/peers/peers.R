# SPDX-License-Identifier: GPL-3.0-or-later
# peers.R FOLDER: reads the pulls, points and books that the program peers wrote there, works every
# figure out by R's own functions (where R has none, from the definition, by another way
# than src/stats goes), holds it against figures.csv and prints TAP: a line for each kind of figure.

suppressPackageStartupMessages({
  library(survival)
  library(boot)
  library(multcomp)
  library(lme4)
})
options(warn = -1, digits = 15)
arguments <- commandArgs(FALSE)
here <- dirname(sub("^--file=", "", grep("^--file=", arguments, value = TRUE)))
folder <- commandArgs(TRUE)[1]
input <- function(name) read.csv(file.path(folder, name), stringsAsFactors = FALSE)

# ---- what R says ----

said <- new.env()
said$case <- said$figure <- character(2000)
said$value <- said$margin <- numeric(2000)
said$count <- 0
case_name <- ""

# margin: how far chance alone may carry the two apart, where one of them draws at random.
say <- function(figure, value, at = NULL, margin = NA) {
  if (!is.null(at)) figure <- paste0(figure, " @", format(at, digits = 6, trim = TRUE))
  said$count <- said$count + 1
  said$case[said$count] <- case_name
  said$figure[said$count] <- figure
  said$value[said$count] <- value
  said$margin[said$count] <- margin
}

for (part in c("one", "two", "many", "held", "mixed", "standing", "points")) source(file.path(here, paste0(part, ".R")))

by_kind <- list(one = one_set, boot = resampled, two = two_sets, paired = paired_sets,
                many = many_sets, benches = several_benches, standing = standing_sets, held = held_sets,
                chain = chained_sets, cause = caused_set)
# What one case says; a function that stops says why, and its figures are missing.
hear <- function(name, speak) {
  said$count <- 0
  case_name <<- name
  tryCatch(speak(), error = function(e) cat("# ", name, ": ", conditionMessage(e), "\n", sep = ""))
  rows <- seq_len(said$count)
  data.frame(case = said$case[rows], figure = said$figure[rows], theirs = said$value[rows],
             margin = said$margin[rows], told = rep(TRUE, said$count))
}

pulls <- input("pulls.csv")
cases <- split(pulls, factor(pulls$case, unique(pulls$case)))
points <- input("points.csv")
blocks <- split(points, seq_len(nrow(points)) %/% 100)
ours <- input("figures.csv")
books <- input("books.csv")
books <- split(books, factor(books$book, unique(books$book)))
asked <- expand.grid(book = rev(names(books)), method = c("REML", "ML"), stringsAsFactors = FALSE)
each <- function(what, f) parallel::mclapply(what, f, mc.preschedule = FALSE,
                                             mc.cores = max(1, parallel::detectCores(), na.rm = TRUE))
# The longest first.
heard <- each(split(asked, seq_len(nrow(asked))), function(fit) {
  name <- paste(fit$book, fit$method)
  hear(name, function() fitted_book(books[[fit$book]], fit$method, ours[ours$case == name, ]))
})
heard <- c(heard, each(cases, function(case)
  hear(case$case[1], function() by_kind[[case$kind[1]]](case))))
heard <- c(heard, each(blocks, function(block) do.call(rbind, lapply(seq_len(nrow(block)), function(i)
  hear(block$case[i], function() say(block$kind[i],
    by_point[[block$kind[i]]](block$a[i], block$b[i], block$c[i], block$d[i])))))))
theirs <- do.call(rbind, heard)

# ---- how near ----

# Where R's own function is good to less than the common tolerance: how much of the figure
# (relative) or of 1 (absolute) is allowed instead.
looser <- list(
  # Without bounds it is 0, told by rounding on both sides.
  "lognormal correlation" = list(absolute = 1e-9),
  "normal correlation" = list(absolute = 1e-9),
  # pmvt adds up random points until its error is said to be below 1e-5.
  "Dunnett p of glht" = list(absolute = 5e-5),
  # Said to be good to 4e-6; at 2 degrees of freedom and 40 groups it is not (7e-5), and its
  # inverse there and at low p less so. "range upper" is held to the definition, and closely.
  "range upper of ptukey" = list(absolute = 1e-4),
  "range quantile of qtukey" = list(relative = 5e-3),
  # The same function gives these.
  "Tukey p" = list(absolute = 4e-6),
  "Games-Howell p" = list(absolute = 4e-6),
  # fisher.test looks for its odds with uniroot's usual tolerance, 1.2e-4 of 1 for ratios below
  # 1, of the inverse above. "odds ratio" is held to the definition, and closely.
  "odds ratio of fisher.test" = list(relative = 2e-3, absolute = 2e-4),
  "odds ratio low of fisher.test" = list(relative = 2e-3, absolute = 2e-4))

both <- merge(ours, theirs, by = c("case", "figure"), all = TRUE)
both$kind <- sub(" @.*", "", both$figure)
common <- c(estimate = 1e-6, quantile = 1e-4, p = 1e-4, fitted = 1e-5, margin = 0)
relative <- common[both$tolerance]
absolute <- ifelse(both$tolerance %in% "p", 1e-6, 0)
absolute <- ifelse(both$tolerance %in% c("margin", "fitted") & !is.na(both$margin), both$margin, absolute)
for (kind in intersect(names(looser), both$kind)) {
  if (!is.null(looser[[kind]]$relative)) relative[both$kind == kind] <- looser[[kind]]$relative
  if (!is.null(looser[[kind]]$absolute)) absolute[both$kind == kind] <- looser[[kind]]$absolute
}
off <- abs(both$value - both$theirs)
both_none <- is.na(both$value) & is.na(both$theirs)
equal <- both_none | (!is.na(both$value == both$theirs) & both$value == both$theirs)
# Told by one side only.
alone <- is.na(both$tolerance) | is.na(both$told)
off[equal] <- 0
off[alone | is.na(off)] <- Inf
allowed <- pmax(absolute, relative * abs(both$theirs), na.rm = TRUE)
bad <- alone | (!equal & !(off <= allowed))
both$relative <- ifelse(off == 0, 0, off / abs(both$theirs))

kinds <- unique(both$kind)
cat("1..", length(kinds), "\n", sep = "")
for (i in seq_along(kinds)) {
  mine <- both$kind == kinds[i]
  cat(if (any(bad[mine])) "not ok " else "ok ", i, " - ", kinds[i], ": ", sum(mine),
      " cases, at most ", signif(max(both$relative[mine]), 2), " of it apart\n", sep = "")
  for (j in head(which(mine & bad), 5))
    cat("# ", both$case[j], ", ", both$figure[j], ": ours ", format(both$value[j], digits = 17),
        ", theirs ", format(both$theirs[j], digits = 17), "\n", sep = "")
  if (sum(mine & bad) > 5) cat("# and ", sum(mine & bad) - 5, " more\n", sep = "")
}
quit(status = any(bad))
