"""One whole small day, told as text: opened in pairs, kept in step, closed, balanced but for one voter who left with a ballot unnoted."""

DAY = """
    04:50 record-opened place HM4 version 1.0
    05:00 arrivals present.Calloway 05:00 present.Renn 05:02
    05:05 oath person Calloway row 1 by Calloway
    05:06 oath person Renn row 2 by Renn
    05:07 oath person Vance row 3 by Vance
    05:08 oath person Pellow row 4 by Pellow
    05:20 case-seals seals.case #40112 by Calloway, Renn
    05:22 tabulator-seals T1 serial A-100 seals.T1-memory #40116 by Calloway, Renn
    05:25 seals-cut old.case #40112 by Calloway, Renn
    05:28 bins-empty X1 ballots_found 0 by Calloway, Renn
    05:29 bins-locked X1 seals.main #40220 seals.write-in #40221 by Calloway, Renn
    05:40 zero-tape T1 all_zero yes public 0 lifetime 9000 prints 2 by Calloway, Renn
    05:45 zero-signed T1 prints_signed 2 words_copied yes by Calloway, Renn
    05:46 check-words number 12 words 7QK2-M4TX-9RD0
    06:00 packs opened_counted.4A 99 by Calloway, Vance
    06:05 first-stub first.4A 1 by Vance
    07:00 polls-open time 07:00 by Calloway, Renn
    08:00 hourly hour 08:00 counters.T1 61 check_ins.P4 64 in_hand 3 by Vance
    08:40 spoiled ballots 1 style 4A origin paper reissued yes by Pellow
    09:00 hourly hour 09:00 counters.T1 131 check_ins.P4 138 in_hand 7 by Vance
    09:20 provisional ballots 1 style 4A origin paper by Pellow
    09:40 left ballots 1 book P4 by Pellow
    10:00 hourly hour 10:00 counters.T1 193 check_ins.P4 196 in_hand 2 by Vance
    10:02 correct 23 hour 10:00 counters.T1 184 check_ins.P4 187 in_hand 2 because "read off the other screen" by Vance
    12:00 bin-emptied X1 bin main counters.T1 270 container C1 seal #40222 ballots 252 old_seal #40220 new_seal #40223 by Vance, Renn
    14:00 pack-opened style 4A nominal 100 counted 101 by Vance, Pellow
    20:00 line-end officer_behind yes by Vance, Renn
    20:04 polls-closed time 20:04 last_ballot 20:03 by Calloway, Renn
    20:15 closing-seals seals.T1-memory #40116 seals.X1-main #40223 seals.X1-write-in #40221 by Calloway, Renn
    20:20 unused unused.4A [966,965,965] next.4A 436 by Calloway, Renn
    20:21 aside-counts spoiled.4A 1 provisional.not-in-book 1 drop_off 2 by Calloway, Renn
    20:22 book-count check_ins.P4 435 cancelled.P4 0 book_shut yes by Calloway, Renn
    20:23 emergency-opened X1 ballots_found 0 fed 0 hand_counted 0 left 0 by Calloway, Renn
    20:30 counter-read T1 public 432 lifetime 9432 by Calloway, Renn
    20:32 first-look seen yes by Calloway, Renn
    20:34 keying T1 of tape-typed figures.public 432 figures.ballots.P4 432 by Calloway
    20:37 keying T1 of tape-typed figures.public 432 figures.ballots.P4 423 by Renn
    20:45 tape-typed T1 how blind public 432 lifetime 9432 ballots.P4 432 contests.GOV.ballots 432 contests.GOV.votes.A 201 contests.GOV.votes.B 190 contests.GOV.write_in 13 contests.GOV.under 26 contests.GOV.over 2 contests.CLERK.ballots 432 contests.CLERK.votes.C 300 contests.CLERK.votes.D 280 contests.CLERK.votes.E 200 contests.CLERK.under 84 by Calloway, Renn
    20:50 bins-out X1 container.main C1 container.write-in C2 ballots.main 151 ballots.write-in 29 by Calloway, Renn
    20:55 write-in-tally listed.GOV.W1 7 other.GOV 3 no_name.GOV 2 invalid.GOV 1 by Calloway, Renn
    21:10 remark lines [stock,poll-book] gaps [1,2] remark "One voter left with a ballot; seen too late." by Calloway, Renn
    21:15 statement figures_in_words yes by Calloway, Renn
    21:20 containers-filled ballots.C1 403 ballots.C2 29 by Calloway, Renn
    21:25 containers-sealed seals.C1 #40222 seals.C2 #40224 seals.case #40225 by Calloway, Renn
    21:28 memory T1 seal #40226 goes goes by Calloway, Renn
    21:30 seals-accounted issued 30 applied 7 returned 23 damaged 0 by Calloway, Renn
"""
