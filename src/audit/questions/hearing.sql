-- What came of each utterance, by unit and month.
select mode, unit, month, result, count(*) as n,
  cast(sum(case when listened_again then 1 else 0 end) as bigint) as again
from hearing
group by mode, unit, month, result
order by mode, unit, month, result
