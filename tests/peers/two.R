# SPDX-License-Identifier: GPL-3.0-or-later
# Two sets of pulls. The level here is 0.9.

# One deviation of nothing: t.test stops where all pulls of both sides are equal.
say_difference <- function(name, test, value) {
  say(paste(name, "difference"), value)
  say(paste(name, "t"), if (is.null(test)) NaN else test$statistic)
  say(paste(name, "df"), if (is.null(test)) NaN else test$parameter)
  say(paste(name, "p"), if (is.null(test)) NaN else test$p.value)
  say(paste(name, "low"), if (is.null(test)) NaN else test$conf.int[1])
  say(paste(name, "high"), if (is.null(test)) NaN else test$conf.int[2])
}

try_test <- function(...) tryCatch(t.test(..., conf.level = 0.9), error = function(e) NULL)

# ---- ratios ----

# Where a test of a = r b is accepted, r -> |a - r b| / deviation <= t. The statistic's square
# has one least point (0, at a / b) and one greatest; both cut the line into two pieces in which
# it is monotone, so that each end is found by uniroot. In angles r = tan u, with infinity as
# a point like any other.
fieller <- function(a, va, b, vb, df) {
  t <- qt(0.95, df)
  off <- function(u) {
    s <- sin(u)
    c <- cos(u)
    (a * c - b * s)^2 - t^2 * (va * c^2 + vb * s^2)
  }
  root <- function(low, high) tan(uniroot(off, c(low, high), tol = 1e-15)$root)
  least <- atan(a / b)
  most <- atan2(-b * va, a * vb)
  while (most < least) most <- most + pi
  while (most > least + pi) most <- most - pi
  if (off(most) <= 0) return(list(shape = 2, low = -Inf, high = Inf))
  ends <- sort(c(root(least, most), root(most - pi, least)))
  list(shape = if (b^2 > t^2 * vb) 0 else 1, low = ends[1], high = ends[2])
}

say_ratio <- function(name, r) {
  say(paste(name, "shape"), r$shape); say(paste(name, "low"), r$low); say(paste(name, "high"), r$high)
}

unknown <- list(shape = 3, low = NaN, high = NaN)

ratios <- function(a, b) {
  na <- length(a)
  nb <- length(b)
  va <- var(a) / na
  vb <- var(b) / nb
  pooled <- ((na - 1) * var(a) + (nb - 1) * var(b)) / (na + nb - 2)
  for (share in c(0, 0.8, 0.97)) {
    less <- share * min(mean(a), mean(b))
    ma <- mean(a) - less
    mb <- mean(b) - less
    welch <- function(x, y) (x + y)^2 / (x^2 / (na - 1) + y^2 / (nb - 1))
    df <- welch(va, vb * (ma / mb)^2)
    say_ratio(paste("Fieller less", share), if (va + vb > 0) fieller(ma, va, mb, vb, df) else unknown)
    say_ratio(paste("Fieller pooled less", share),
              if (pooled > 0) fieller(ma, pooled / na, mb, pooled / nb, na + nb - 2) else unknown)
    la <- va / ma^2
    lb <- vb / mb^2
    half <- qt(0.95, welch(la, lb)) * sqrt(la + lb)
    say_ratio(paste("log ratio less", share), if (va + vb > 0)
      list(shape = 0, low = ma / mb * exp(-half), high = ma / mb * exp(half)) else unknown)
  }
}

# ---- ranks ----

ranks <- function(a, b) {
  na <- length(a)
  nb <- length(b)
  few <- na <= 50 && nb <= 50
  exact <- few && !anyDuplicated(c(a, b))
  all <- sort(outer(a, b, "-"))
  w <- if (exact) wilcox.test(a, b, exact = TRUE, conf.int = TRUE, conf.level = 0.9)
       else wilcox.test(a, b, exact = FALSE, correct = TRUE)
  say("Mann-Whitney", w$statistic)
  say("Mann-Whitney p", if (is.nan(w$p.value)) 1 else w$p.value)
  if (few) {
    k <- qwilcox(0.05, na, nb)
    if (k == 0) k <- 1
    reached <- 1 - 2 * pwilcox(k - 1, na, nb)
  } else {
    s <- sqrt(na * nb * (na + nb + 1) / 12)
    k <- floor(na * nb / 2 - qnorm(0.95) * s + 0.5)
    reached <- 2 * pnorm((na * nb / 2 - k + 0.5) / s) - 1
  }
  say("shift", if (exact) w$estimate else median(all))
  say("shift level", reached)
  say("shift low", if (exact) w$conf.int[1] else all[k])
  say("shift high", if (exact) w$conf.int[2] else rev(all)[k])
}

# Every split of the pulls; sums nearer than 1e-12 of the largest pull count as equal.
permuted <- function(a, b) {
  x <- c(a, b) - mean(c(a, b))
  k <- min(length(a), length(b))
  if (choose(length(x), k) > 200000) return()
  seen <- abs(sum(if (length(a) < length(b)) x[seq_along(a)] else x[-seq_along(a)]))
  sums <- combn(length(x), k, function(i) sum(x[i]))
  p <- mean(abs(sums) >= seen - 1e-12 * max(abs(c(a, b))))
  say("permutation p", p)
  # 10000 splits at random, 5 deviations and the one that is counted in.
  if (length(sums) > 10000) say("permutation p at random", p, NULL, 5 * sqrt(p * (1 - p) / 10000) + 1e-4)
}

two_sets <- function(case) {
  a <- case$load[case$set == 0]
  b <- case$load[case$set == 1]
  say_difference("Student", try_test(a, b, var.equal = TRUE), mean(a) - mean(b))
  say_difference("Welch", try_test(a, b), mean(a) - mean(b))
  lower <- try_test(a, b, mu = -sd(a), alternative = "greater")$p.value
  upper <- try_test(a, b, mu = sd(a), alternative = "less")$p.value
  say("two one-sided p", max(lower, upper))
  ratios(a, b)
  ranks(a, b)
  permuted(a, b)
}

# ---- pairs ----

# wilcox.test is exact only without ties and zeros; else all signs are gone through, one rank
# after the other as a polynomial is multiplied out.
signed_rank <- function(d) {
  used <- d[d != 0]
  n <- length(used)
  rank <- rank(abs(used))
  v <- sum(rank[used > 0])
  say("signed rank", v)
  if (n == 0) p <- c(1, 1)
  else if (n > 50 || (!anyDuplicated(abs(used)) && n == length(d)))
    p <- sapply(c("two.sided", "greater"), function(way)
      wilcox.test(d, alternative = way, exact = n <= 50, correct = TRUE)$p.value)
  else {
    share <- 1
    for (r in 2 * rank) share <- (c(share, rep(0, r)) + c(rep(0, r), share)) / 2
    at <- seq_along(share) - 1
    greater <- sum(share[at >= 2 * v])
    p <- c(min(1, 2 * min(greater, sum(share[at <= 2 * v]))), greater)
  }
  say("signed rank p", p[1])
  say("signed rank p greater", p[2])
}

paired_sets <- function(case) {
  a <- case$load[case$set == 0]
  b <- case$load[case$set == 1]
  say_difference("paired", try_test(a, b, paired = TRUE), mean(a - b))
  signed_rank(a - b)
}
