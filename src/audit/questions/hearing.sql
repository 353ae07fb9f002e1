-- What came of each utterance, by unit and month.
select b.mode, b.unit, b.month, h.result, count(*) as n,
  cast(sum(case when h.listened_again then 1 else 0 end) as bigint) as again
from hearing h
join births b on b.record = h.record
group by b.mode, b.unit, b.month, h.result
order by b.mode, b.unit, b.month, h.result
