# SPDX-License-Identifier: GPL-3.0-or-later
# One set of pulls.

level <- 0.95
tail_of <- (1 - level) / 2

# The k-th from both ends of `sorted`, the greatest k for which twice the chance below stays
# within 1 - level; `below(k)` is the chance of k - 1 or fewer.
ends_of <- function(sorted, below) {
  k <- 1
  while (2 * (k + 1) <= length(sorted) + 1 && 2 * below(k + 1) <= (1 - level) * (1 + 1e-12)) k <- k + 1
  list(low = sorted[k], high = sorted[length(sorted) + 1 - k], level = 1 - 2 * below(k))
}

# qt takes the normal for noncentralities above 37.62; there the chance is worked out from its
# definition.
tolerance_factor <- function(n, above, confidence) {
  centre <- qnorm(above) * sqrt(n)
  if (centre <= 37.62) return(qt(confidence, n - 1, centre) / sqrt(n))
  df <- n - 1
  ends <- sqrt(qchisq(c(1e-14, 1 - 1e-14), df) / df)
  below <- function(t) integrate(function(s) 2 * df * s * dchisq(df * s^2, df) * pnorm(t * s - centre),
                                 ends[1], ends[2], rel.tol = 1e-11)$value
  uniroot(function(t) below(t) - confidence, centre * c(0.5, 2), tol = 1e-10)$root / sqrt(n)
}

# ---- location ----

# Hettmansperger and Sheather, between two depths of the sign test.
median_interval <- function(x) {
  n <- length(x)
  x <- sort(x)
  covers <- function(k) 1 - 2 * pbinom(k - 1, n, 0.5)
  depths <- seq_len(max(1, floor(n / 2)))
  k <- max(1, depths[covers(depths) >= level])
  if (covers(k) < level || k + 1 > (n + 1) / 2)
    return(c(x[k], x[n + 1 - k], covers(k)))
  i <- (covers(k) - level) / (covers(k) - covers(k + 1))
  lambda <- (n - k) * i / (k + (n - 2 * k) * i)
  c((1 - lambda) * x[k] + lambda * x[k + 1], (1 - lambda) * x[n + 1 - k] + lambda * x[n - k], level)
}

# Huber's proposal 2 by turns, until it is still. (MASS::hubers stops after 30 turns, which
# leaves some of these sets 4 % off.)
huber_2 <- function(x, k) {
  at <- c(median(x), mad(x))
  density <- function(z) pmin(abs(z), k)^2 * dnorm(z)
  beta <- 2 * (integrate(density, 0, k, rel.tol = 1e-12)$value + k^2 * pnorm(-k))
  for (turn in 1:100000) {
    clipped <- pmin(pmax(x, at[1] - k * at[2]), at[1] + k * at[2])
    to <- c(mean(clipped), sd(clipped) / sqrt(beta))
    if (all(abs(to - at) <= 1e-15 * at[2])) break
    at <- to
  }
  at
}

location <- function(x) {
  n <- length(x)
  for (p in c(0.037, 0.25, 0.5, 0.61, 0.9, 0.975))
    for (type in 1:9) say(paste("quantile type", type), quantile(x, p, type = type, names = FALSE), p)
  m <- median_interval(x)
  say("median low", m[1]); say("median high", m[2]); say("median level", m[3])

  walsh <- outer(x, x, "+") / 2
  walsh <- sort(walsh[upper.tri(walsh, TRUE)])
  if (anyDuplicated(x) || n >= 50) {
    # wilcox.test has no exact interval with ties, and refuses from 50 on unless told to.
    hl <- median(walsh)
    e <- ends_of(walsh, function(k) psignrank(k - 1, n))
  } else {
    w <- wilcox.test(x, conf.int = TRUE, exact = TRUE, conf.level = level)
    hl <- w$estimate
    e <- ends_of(walsh, function(k) psignrank(k - 1, n))
    e$low <- w$conf.int[1]
    e$high <- w$conf.int[2]
  }
  say("Hodges-Lehmann", hl); say("Hodges-Lehmann level", e$level)
  say("Hodges-Lehmann low", e$low); say("Hodges-Lehmann high", e$high)

  cut <- floor(n * 0.17)
  wins <- pmin(pmax(x, sort(x)[cut + 1]), sort(x)[n - cut])
  left <- n - 2 * cut
  half <- if (left > 1) qt(1 - tail_of, left - 1) * sd(wins) * sqrt((n - 1) / left / (left - 1)) else NaN
  say("trimmed mean", mean(x, trim = 0.17))
  say("trimmed mean low", mean(x, trim = 0.17) - half)
  say("trimmed mean high", mean(x, trim = 0.17) + half)

  say("mad", mad(x))
  s <- mad(x)
  psi <- function(m) sum(pmin(pmax(x - m, -1.5 * s), 1.5 * s))
  say("Huber", if (s > 0) uniroot(psi, range(x), tol = 1e-14)$root else median(x))
  proposal <- huber_2(x - x[1], 1.5)
  say("Huber proposal 2", x[1] + proposal[1])
  say("Huber proposal 2 scale", proposal[2])
}

spread <- function(x) {
  n <- length(x)
  say("mean", mean(x)); say("sd", sd(x))
  t <- if (sd(x) > 0) t.test(x, conf.level = level)$conf.int else c(mean(x), mean(x))
  say("mean low", t[1]); say("mean high", t[2])
  u <- qchisq(c(1 - tail_of, tail_of), n - 1)
  say("sd low", sd(x) * sqrt((n - 1) / u[1])); say("sd high", sd(x) * sqrt((n - 1) / u[2]))
  k <- sd(x) / mean(x)
  ends <- k / sqrt(((u + 2) / n - 1) * k^2 + u / (n - 1))
  say("cv low", ends[1]); say("cv high", ends[2])
  say("tolerance bound", mean(x) - sd(x) * tolerance_factor(n, 0.9, 0.95))
}

# ---- alarms ----

grubbs_critical <- function(n, alpha) {
  t <- qt(alpha / (2 * n), n - 2, lower.tail = FALSE)
  (n - 1) / sqrt(n) * sqrt(t^2 / (n - 2 + t^2))
}

anderson_darling <- function(z, below) {
  n <- length(z)
  z <- sort(z)
  -n - mean((2 * seq_len(n) - 1) * (below(z, TRUE) + rev(below(z, FALSE))))
}

alarms <- function(x) {
  n <- length(x)
  scatter <- sd(x) > 0
  say("Grubbs", if (scatter) max(abs(x - mean(x))) / sd(x) else NaN)
  say("Grubbs critical", grubbs_critical(n, 0.05))
  if (n >= 8) {
    left <- x
    for (i in 0:1) {
      far <- abs(left - mean(left)) / sd(left)
      say("ESD", max(far), i)
      say("ESD critical", grubbs_critical(n - i, 0.05), i)
      left <- left[-which.max(far)]
    }
  }
  w <- if (scatter) shapiro.test(x) else list(statistic = NaN, p.value = NaN)
  say("Shapiro-Wilk", w$statistic); say("Shapiro-Wilk p", w$p.value)
  say("Anderson-Darling normal", anderson_darling((x - mean(x)) / sd(x), function(z, lower)
    pnorm(z, lower.tail = lower, log.p = TRUE)))
  say("Anderson-Darling Weibull", anderson_darling(x, function(z, lower)
    pweibull(z, 1 / 0.06, mean(x), lower.tail = lower, log.p = TRUE)))
}

# ---- order ----

# How many orders of n have so many inversions, over all of them.
inversions <- function(n) {
  share <- 1
  for (k in 2:n) {
    pieces <- sapply(seq_len(k), function(j) c(rep(0, j - 1), share, rep(0, k - j)))
    share <- rowSums(pieces) / k
  }
  share
}

# cor.test is exact without ties only, and asks to be told so for many. With ties: each lot of equals
# is put among the lower ones, whose inversions are then those of Mann and Whitney's U.
kendall_p <- function(x) {
  n <- length(x)
  if (n > 18)
    return(if (sd(x) == 0) 1 else
      cor.test(x, seq_len(n), method = "kendall", exact = FALSE, continuity = TRUE)$p.value)
  if (!anyDuplicated(x)) return(cor.test(x, seq_len(n), method = "kendall", exact = TRUE)$p.value)
  share <- 1
  below <- 0
  for (lot in table(x)) {
    u <- dwilcox(0:(below * lot), below, lot)
    if (below > 0) share <- rowSums(sapply(seq_along(u), function(i)
      u[i] * c(rep(0, i - 1), share, rep(0, length(u) - i))))
    below <- below + lot
  }
  d <- sign(outer(x, x, "-"))
  most <- length(share) - 1
  sum(share[abs(most - 2 * (0:most)) >= abs(sum(d[lower.tri(d)]))])
}

runs_in <- function(above) sum(above[-1] != above[-length(above)]) + 1

runs_p <- function(above) {
  n <- length(above)
  a <- sum(above)
  seen <- runs_in(above)
  if (n > 20) {
    m <- 2 * a * (n - a) / n + 1
    return(2 * pnorm(-abs(seen - m) / sqrt((m - 1) * (m - 2) / (n - 1))))
  }
  chosen <- combn(n, a)
  orders <- matrix(FALSE, n, ncol(chosen))
  orders[cbind(c(chosen), c(col(chosen)))] <- TRUE
  all <- colSums(orders[-1, , drop = FALSE] != orders[-n, , drop = FALSE]) + 1
  min(1, 2 * min(mean(all <= seen), mean(all >= seen)))
}

drift <- function(x) {
  n <- length(x)
  say("autocorrelation", acf(x, 1, plot = FALSE)$acf[2])
  above <- x[x != median(x)] > median(x)
  say("runs", if (length(above)) runs_in(above) else 0)
  say("runs p", if (any(above) && !all(above)) runs_p(above) else NaN)
  i <- seq_len(n)
  slopes <- outer(x, x, "-") / outer(i, i, "-")
  slopes <- sort(slopes[lower.tri(slopes)])
  say("Theil-Sen", median(slopes))
  p <- kendall_p(x)
  if (!is.null(p)) say("Kendall p", p)
  if (n <= 18) {
    share <- cumsum(inversions(n))
    e <- ends_of(slopes, function(k) share[k])
  } else {
    k <- floor(n * (n - 1) / 4 - qnorm(1 - tail_of) * sqrt(n * (n - 1) * (2 * n + 5) / 72) + 0.5)
    e <- list(low = slopes[k], high = rev(slopes)[k])
  }
  say("Theil-Sen low", e$low); say("Theil-Sen high", e$high)
}

one_set <- function(case) {
  spread(case$load)
  location(case$load)
  alarms(case$load)
  drift(case$load)
}

# ---- resampling ----

# 200000 replicates on both sides. A figure's own deviation over such resamplings times 6
# and sqrt 2, for both scatter: of z0 1 / (2 phi(0) sqrt B), of a quantile sqrt(p (1 - p) / B)
# over the density there, to which z0 adds twice its own times the deviation.
resampled <- function(case) {
  times <- 200000
  set.seed(31)
  a <- case$load[case$set == 0]
  b <- case$load[case$set == 1]
  both <- data.frame(load = c(a, b), set = rep(0:1, c(length(a), length(b))))
  statistics <- list(
    list(a, function(x, i) mean(x[i]), rep(1, length(a))),
    list(a, function(x, i) { y <- x[i]; sqrt(sum((y - mean(y))^2) / (length(y) - 1)) / mean(y) }, rep(1, length(a))),
    list(both, function(d, i) { y <- d$load[i]; s <- d$set[i]; mean(y[s == 0]) / mean(y[s == 1]) },
         both$set + 1))
  for (s in 0:2) {
    data <- statistics[[s + 1]][[1]]
    statistic <- statistics[[s + 1]][[2]]
    strata <- statistics[[s + 1]][[3]]
    b <- boot(data, statistic, times, strata = strata)
    # About their mean (Efron and Tibshirani 1993, equation 14.15), and of each set over its size (Davison and Hinkley 1997, section 5.3.2); for one set, or equal
    # ones, the same as without.
    influence <- empinf(data = data, statistic = statistic, stype = "i", strata = strata, type = "jack")
    influence <- (influence - ave(influence, strata)) / ave(influence, strata, FUN = length)
    ci <- boot.ci(b, level, c("perc", "bca"), L = influence)
    se <- sd(b$t)
    z0 <- 0.5 / sqrt(times) / dnorm(0)
    end <- sqrt(tail_of * level / times) / dnorm(qnorm(tail_of))
    say("bootstrap value", b$t0, s)
    say("bootstrap acceleration", sum(influence^3) / 6 / sum(influence^2)^1.5, s)
    say("bootstrap se", se, s, 6 * se / sqrt(times))
    say("bootstrap z0", qnorm(mean(b$t < b$t0)), s, 6 * sqrt(2) * z0)
    say("bootstrap percentile low", ci$percent[4], s, 6 * sqrt(2) * end * se)
    say("bootstrap percentile high", ci$percent[5], s, 6 * sqrt(2) * end * se)
    say("bootstrap BCa low", ci$bca[4], s, 6 * sqrt(2) * sqrt(end^2 + 4 * z0^2) * se)
    say("bootstrap BCa high", ci$bca[5], s, 6 * sqrt(2) * sqrt(end^2 + 4 * z0^2) * se)
  }
}
